"""`compare` is killed before each change it makes to the disk: the same command goes on, same bytes."""

import json
import subprocess
import sys

import pytest

# One process that forks: what takes seconds to load is loaded once. The child dies, as by kill -9, before
# its n-th renaming, removal or new folder; then another runs the same command to its end.
SCRIPT = """
import contextlib, io, json, os, signal, sys
from pathlib import Path
from sim import cli
from sim.study.runs import pace
import sim.report.html.comparison_report

pace.WANTED_S = pace.LEAST_S = 0.0  # a batch a run
# It takes longer than the runs, and changes no file itself.
sim.report.html.comparison_report.build = lambda *asked: "report"
place, words = Path(sys.argv[1]), sys.argv[2:]
CHANGES = ("replace", "unlink", "rmdir", "mkdir")


def ask(out):
    return cli.main([*words, "--workers", "1", "--out", str(out)])


def compare(out, die_at=None):
    child = os.fork()
    if child:
        return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    left = die_at

    def dying(change):
        def changed(*args, **more):
            nonlocal left
            left -= 1
            if left == 0:
                os.kill(os.getpid(), signal.SIGKILL)
            return change(*args, **more)
        return changed

    if die_at is not None:
        for name in CHANGES:
            setattr(os, name, dying(getattr(os, name)))
    null = os.open(os.devnull, os.O_WRONLY)
    os.dup2(null, 1)
    os._exit(ask(out))


def results(out):
    return {p.name: p.read_bytes().hex() for p in out.iterdir() if p.is_file() and p.name[0] != "."}


def begun(log):
    return [line.split() for line in log.read_text().splitlines()] if log.exists() else []


with contextlib.redirect_stdout(io.StringIO()):
    assert ask(place / "undisturbed") == 0  # and what is loaded late is loaded now
wanted, told, step = results(place / "undisturbed"), [], 0
while not told or told[-1]["killed"]:
    step += 1
    out, link = place / f"step{step}", place / f"log{step}"
    killed = compare(out, step)
    stored = {p.stem for p in (out / "unfinished" / "batches").glob("*.parquet")}
    finished = out.exists() and results(out) == wanted and not stored
    if (out / "unfinished" / "started.log").exists():
        os.link(out / "unfinished" / "started.log", link)  # the file itself goes with the study
    before = begun(link)
    code = compare(out)
    told.append({
        "killed": killed, "code": code, "finished": finished,
        "kept": [run for name, *runs in before if name in stored for run in runs],
        "again": [run for name, *runs in begun(link)[len(before):] for run in runs],
        "same": results(out) == wanted, "left": [p.name for p in out.iterdir() if not p.is_file()],
    })
print(json.dumps(told))
"""
QUESTION = ["compare", "cottage", "--years", "1", "--replications", "2", "--policy", "nothing done"]


@pytest.mark.skipif(sys.platform == "win32", reason="forks")
def test_killed_before_each_change_to_the_disk(tmp_path, record_property):
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT, str(tmp_path), *QUESTION],
        capture_output=True, text=True, timeout=300, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    *killed, last = told
    record_property("steps", str(len(killed)))
    assert last["killed"] == 0
    kept = [len(one["kept"]) for one in killed if not one["finished"]]
    assert kept == sorted(kept)  # never fewer than before, until the results are whole and all go at once
    assert set(kept) == {0, 1, 2}
    assert any(one["finished"] for one in killed)
    for step, one in enumerate(told, 1):
        assert (step, one["code"], one["same"], one["left"]) == (step, 0, True, [])
        assert not set(one["kept"]) & set(one["again"])
