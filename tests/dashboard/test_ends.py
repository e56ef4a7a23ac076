"""Workers end with what started them, however that ends, and leave the cores to the pages."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from dashboard.jobs.loaded import NICENESS
from tests.dashboard.driving import alive, descendants, until

ROOT = Path(__file__).parents[2]
SERVER = """
import time
from dashboard.jobs.job_table import JobTable
from sim.scenario.read import load
from sim.study.question import Site
from sim.study.compare.question import CompareQuestion
if __name__ == "__main__":
    scenario = load.load(load.DEMO)
    names = tuple(policy.name for policy in scenario.policies)
    table = JobTable()
    key = table.start(CompareQuestion(site=Site(scenario), policies=names, years=20, replications=500))
    while table.get(key).worker is None or not table.get(key).active:
        time.sleep(0.05)
    print("started", flush=True)
    time.sleep(600)
"""


@pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="looks at processes by /proc")
@pytest.mark.parametrize("sign", [signal.SIGTERM, signal.SIGINT, signal.SIGKILL])
def test_workers_end_with_what_started_them_and_leave_no_folder(tmp_path, sign):
    (kept := tmp_path / "kept").mkdir()
    script = tmp_path / "server.py"
    script.write_text(SERVER)
    server = subprocess.Popen(
        [sys.executable, str(script)], cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": str(ROOT), "TMPDIR": str(kept)},
        stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        assert server.stdout.readline() == b"started\n"

        least = 2 + (os.cpu_count() > 1)  # the one with the code loaded, a worker, and one it started

        def busy():
            found = descendants(server.pid)
            return found if len(found) >= least else []

        workers = until(busy, 180.0)
        assert list(kept.iterdir())
        nice = min(19, os.getpriority(os.PRIO_PROCESS, server.pid) + NICENESS)
        assert {os.getpriority(os.PRIO_PROCESS, pid) for pid in workers} == {nice}
        server.send_signal(sign)
        until(lambda: not any(map(alive, workers)), 60.0)
        until(lambda: not list(kept.iterdir()))
    finally:
        server.kill()
        server.communicate()
