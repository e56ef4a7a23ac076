"""`compare` or its workers are killed, its disk is full: the same command goes on, with the same bytes."""

import contextlib
import os
import random
import resource
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from sim.study.runs.dispatch import MOST_DEATHS
from tests.kept_files import COMPARISON

WORKERS = 2
QUESTION = ["compare", "cottage", "--years", "1", "--replications", "16", "--workers", str(WORKERS)]
QUESTION += ["--policy", "by the calendar", "--policy", "nothing done"]


def start(out: Path, *words: str, **more) -> subprocess.Popen:
    return subprocess.Popen(
        [sys.executable, "-m", "sim.cli", *QUESTION, *words, "--out", str(out)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        **more,
    )


def end(process: subprocess.Popen) -> tuple[int, str, str]:
    with process:
        out, err = process.communicate(timeout=300)
    return process.returncode, out, err


def contents(out: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in out.iterdir()}


@pytest.fixture(scope="module")
def undisturbed(tmp_path_factory):
    """Files of a run that nothing happened to, and how long it took."""
    out = tmp_path_factory.mktemp("undisturbed")
    began = time.monotonic()
    code, _, err = end(start(out))
    assert code == 0, err
    found = contents(out)
    assert set(found) == set(COMPARISON)
    return found, time.monotonic() - began


def finished(out: Path, wanted: dict[str, bytes]) -> bool:
    """Whether the results are whole and the batches given up: who is killed after that has lost nothing."""
    there = {path.name for path in out.iterdir() if path.is_file()} if out.exists() else set()
    return (
        set(wanted) <= there
        and not stored(out)
        and all((out / n).read_bytes() == b for n, b in wanted.items())
    )


def stored(out: Path) -> set[str]:
    return {path.stem for path in (out / "unfinished" / "batches").glob("*.parquet")}


class Log:
    """Batches handed out so far; a link of its own, as the file goes when the study is finished."""

    def __init__(self, link: Path):
        self.link = link

    def batches(self, out: Path) -> list[tuple[str, list[str]]]:
        if not self.link.exists():
            with contextlib.suppress(FileNotFoundError):
                os.link(out / "unfinished" / "started.log", self.link)
        lines = self.link.read_text().splitlines() if self.link.exists() else []
        return [(line.split()[0], line.split()[1:]) for line in lines]


@pytest.mark.parametrize(
    "kills", [pytest.param(3, id="few"), pytest.param(50, id="many", marks=pytest.mark.long)]
)
def test_a_killed_driver_goes_on_and_runs_nothing_again_that_was_kept(undisturbed, tmp_path, kills):
    wanted, took_s = undisturbed
    moments = random.Random(kills)
    landed = study = 0
    while landed < kills:
        study += 1
        out, log, kept = tmp_path / f"out{study}", Log(tmp_path / f"log{study}"), set()
        while True:
            before = len(log.batches(out)) if out.exists() else 0
            process = start(out)
            last = landed >= kills
            try:
                process.wait(None if last else moments.uniform(0.0, 1.2 * took_s))
            except subprocess.TimeoutExpired:
                process.kill()
                landed += 1
            code, _, err = end(process)
            handed = log.batches(out)[before:]
            # Never again what was on disk when this process began.
            assert not kept & {run for _, runs in handed for run in runs}
            if code == 0:
                break
            assert code == -signal.SIGKILL, err
            if finished(out, wanted):
                break
            there = stored(out)
            assert len([name for name, _ in handed if name not in there]) <= 2 * WORKERS
            kept |= {run for name, runs in handed if name in there for run in runs}
        assert contents(out) == wanted if code == 0 else finished(out, wanted)


def test_who_is_asked_to_end_keeps_and_shows_what_was_finished_and_leaves_no_folder(tmp_path):
    out, kept = tmp_path / "out", tmp_path / "kept"
    kept.mkdir()
    process = start(out, *("--years", "20", "--replications", "400"), env=os.environ | {"TMPDIR": str(kept)})
    while not stored(out):
        assert process.poll() is None
        time.sleep(0.05)
    process.terminate()
    code, said, err = end(process)
    assert (code, err) == (130, "")
    assert "Written to" in said and set(COMPARISON) <= {path.name for path in out.iterdir()}
    assert stored(out)  # to go on with
    assert list(kept.iterdir()) == []


def workers_of(pid: int) -> list[int]:
    """Worker processes of a driver, as the system knows them."""
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        with contextlib.suppress(OSError):
            parent = int((folder / "stat").read_text().rpartition(")")[2].split()[1])
            if parent == pid and b"spawn_main" in (folder / "cmdline").read_bytes():
                found.append(int(folder.name))
    return found


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="finds workers through /proc")
@pytest.mark.parametrize(
    "kills", [pytest.param(1, id="few"), pytest.param(50, id="many", marks=pytest.mark.long)]
)
def test_a_killed_worker_is_replaced(undisturbed, tmp_path, kills):
    wanted, took_s = undisturbed
    moments = random.Random(kills)
    landed = study = 0
    while landed < kills:
        study += 1
        out = tmp_path / f"out{study}"
        process, seen, since = start(out), 0, 0
        while process.poll() is None and landed < kills:
            time.sleep(moments.uniform(0.0, 0.5 * took_s))
            if len(stored(out)) > seen:
                # The last kills may have come after it was finished, while it was being written.
                seen, since = len(stored(out)), min(since, MOST_DEATHS - 1)
            if since == MOST_DEATHS:
                continue  # one more, with no batch finished in between, and it gives up
            if process.poll() is None and (victims := workers_of(process.pid)):
                with contextlib.suppress(ProcessLookupError):
                    os.kill(moments.choice(victims), signal.SIGKILL)
                    landed, since = landed + 1, since + 1
        code, _, err = end(process)
        assert code == 0, err
        assert contents(out) == wanted


def test_workers_end_with_a_killed_driver(tmp_path):
    process = start(tmp_path)
    deadline = time.monotonic() + 120
    while not (workers := workers_of(process.pid)) and time.monotonic() < deadline:
        time.sleep(0.1)
    assert workers
    process.kill()
    end(process)
    while any(Path(f"/proc/{pid}").exists() for pid in workers) and time.monotonic() < deadline:
        time.sleep(0.1)
    assert not any(Path(f"/proc/{pid}").exists() for pid in workers)


def test_a_full_disk_is_one_line_and_the_same_command_goes_on(undisturbed, tmp_path):
    def small_files():
        resource.setrlimit(resource.RLIMIT_FSIZE, (4000, 4000))  # less than a batch

    code, out, err = end(start(tmp_path, preexec_fn=small_files))
    assert (code, out) == (2, "")
    assert " cannot be written to: File too large" in err.splitlines()[-1]
    assert err.count("\n") == 1
    assert not any(path.name.endswith((".parquet", ".part")) for path in tmp_path.rglob("*"))
    assert end(start(tmp_path))[0] == 0
    assert contents(tmp_path) == undisturbed[0]


def test_two_at_once_in_the_same_folder_is_refused(undisturbed, tmp_path):
    first = start(tmp_path)
    deadline = time.monotonic() + 120
    while not (tmp_path / "unfinished").exists() and time.monotonic() < deadline:
        time.sleep(0.05)
    code, _, err = end(start(tmp_path))
    assert code == 2
    assert err == (
        f"cisterntwin: another run is at work in {tmp_path}; "
        "wait until it has ended, or name another folder\n"
    )
    assert end(first)[0] == 0
    assert contents(tmp_path) == undisturbed[0]


def test_an_interrupted_comparison_says_so_and_goes_on(undisturbed, tmp_path):
    process = start(tmp_path)
    log, deadline = tmp_path / "unfinished" / "batches", time.monotonic() + 120
    while not list(log.glob("*.parquet")) and time.monotonic() < deadline:
        time.sleep(0.02)
    process.send_signal(signal.SIGINT)
    code, out, _ = end(process)
    assert code == 130
    assert "replications were finished and are kept" in out
    assert (tmp_path / "rows.csv").exists()
    code, _, err = end(start(tmp_path))
    assert code == 0
    assert "runs were finished before and are in" in err.replace("\n", " ")
    assert contents(tmp_path) == undisturbed[0]
