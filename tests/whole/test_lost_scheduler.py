"""A dask scheduler is killed in the middle of a comparison: one clear line, and the same command goes on."""

import contextlib
import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.kept_files import COMPARISON

pytest.importorskip("distributed")

QUESTION = ["compare", "cottage", "--years", "2", "--replications", "16"]
QUESTION += ["--policy", "by the calendar", "--policy", "nothing done"]
PATIENCE_S = 120.0


def start(*words, told=subprocess.PIPE):
    return subprocess.Popen([sys.executable, "-m", *words], stdout=told, stderr=told, text=True)


def free_port():
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


@contextlib.contextmanager
def cluster(port):
    """Give a scheduler with two workers of one thread, each a process of its own; end what is left of it."""
    address = f"tcp://127.0.0.1:{port}"
    one = ["distributed.cli.dask_scheduler", "--host", address, "--no-dashboard"]
    worker = ["distributed.cli.dask_worker", address, "--nthreads", "1", "--no-nanny", "--no-dashboard"]
    everyone = [start(*words, told=subprocess.DEVNULL) for words in (one, worker, worker)]
    try:
        yield address, everyone[0]
    finally:
        for process in everyone:
            process.kill()
            process.wait()


def wait_for(condition):
    deadline = time.monotonic() + PATIENCE_S
    while not condition():
        assert time.monotonic() < deadline
        time.sleep(0.02)


def ready(address):
    from distributed import Client  # noqa: PLC0415

    with Client(address, timeout=PATIENCE_S, set_as_default=False) as client:
        client.wait_for_workers(2, timeout=PATIENCE_S)


def end(process):
    with process:
        out, err = process.communicate(timeout=300)
    return process.returncode, out, err


def begun(log: Path):
    return [line.split() for line in log.read_text().splitlines()]


def contents(out: Path):
    return {name: (out / name).read_bytes() for name in COMPARISON}


@pytest.mark.filterwarnings("ignore")  # the package's own
def test_a_scheduler_that_is_killed_in_the_middle(tmp_path, record_property):
    serial, out = tmp_path / "serial", tmp_path / "out"
    code, _, err = end(start("sim.cli", *QUESTION, "--workers", "1", "--out", str(serial)))
    assert code == 0, err
    port, batches = free_port(), out / "unfinished" / "batches"

    def stored():
        return set(batches.glob("*.parquet"))

    words = ["sim.cli", *QUESTION, "--scheduler", f"tcp://127.0.0.1:{port}", "--out", str(out)]
    with cluster(port) as (address, scheduler):
        ready(address)
        process = start(*words)
        wait_for(lambda: len(stored()) >= 2 or process.poll() is not None)
        scheduler.send_signal(signal.SIGKILL)
        began = time.monotonic()
        code, shown, err = end(process)
    record_property("told_after_s", f"{time.monotonic() - began:.1f}")
    assert (code, shown) == (2, "")
    assert err.count("\n") == 1, err
    assert f"scheduler tcp://127.0.0.1:{port} was lost" in err
    assert "the same command goes on from what was finished" in err
    assert not (out / "rows.csv").exists()
    log, kept = tmp_path / "log", {file.stem for file in stored()}
    os.link(out / "unfinished" / "started.log", log)  # the file itself goes with the finished study
    before = begun(log)
    assert len(kept) >= 2
    with cluster(port) as (address, _):
        ready(address)
        code, _, err = end(start(*words))
    assert code == 0, err
    assert "runs were finished before and are in" in err.replace("\n", " ")
    assert contents(out) == contents(serial)
    again = begun(log)[len(before) :]
    assert again  # it was in the middle
    assert not {run for name, *runs in before if name in kept for run in runs} & {
        run for _, *runs in again for run in runs
    }
