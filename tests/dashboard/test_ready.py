"""The process that has the code loaded: its workers, and their end with whatever ends before them."""

import os
import signal
import time
from pathlib import Path

import pytest

from dashboard.jobs.loaded import COPIES, PROCESS
from dashboard.jobs.ready import Ready
from dashboard.jobs.worker import ANSWER, LOG
from sim.scenario.read.load import DEMO, load
from sim.study.compare.question import CompareQuestion
from sim.study.question import Site
from sim.study.questions import question_files, read_answer
from tests.dashboard.driving import alive, until


def code(one, seconds=120.0):
    """Exit code of a worker, once it has ended."""
    end = time.monotonic() + seconds
    while (found := one.wait(0.05)) is None:
        assert time.monotonic() < end
    return found


def ask(one, replications=1, years=1):
    question = CompareQuestion(
        site=Site(load(DEMO)), policies=("as things fail",), years=years, replications=replications
    )
    for name, content in question_files(question, {}).items():
        (one.folder / name).write_bytes(content)
    one.go()
    until((one.folder / PROCESS).exists)
    return int((one.folder / PROCESS).read_bytes())


@pytest.fixture
def ready():
    made = Ready()
    yield made
    made.end()


def test_nobody_waits_before_a_worker_is_asked_for(ready):
    assert ready._loaded is None
    with ready.worker() as one:
        assert ready.begin().runs
        assert one.folder.is_dir()
    assert not one.folder.exists()


def test_two_workers_of_one_process_answer(ready):
    loaded = ready.begin()
    for _ in range(2):
        with ready.worker() as one:
            ask(one)
            assert code(one) == 0, (one.folder / LOG).read_text()
            assert read_answer(one.folder / ANSWER).finished == 1
    assert ready.begin() is loaded


@pytest.mark.skipif(not COPIES, reason="elsewhere a worker loads the code itself")
def test_it_has_one_thread_of_python_and_a_worker_has_the_code_from_it(ready):
    loaded = ready.begin()
    with ready.worker() as one:
        ask(one)
        assert code(one) == 0
    names = [
        (task / "comm").read_text().strip() for task in Path(f"/proc/{loaded.process.pid}/task").iterdir()
    ]
    # The other belongs to the memory of pyarrow, which looks after it when a process is copied.
    assert len([name for name in names if name != "jemalloc_bg_thd"]) == 1
    assert "llvmlite" in Path(f"/proc/{loaded.process.pid}/maps").read_text()


def test_a_worker_is_handed_the_environment_as_it_is_when_it_is_asked(ready, monkeypatch):
    ready.begin()
    monkeypatch.setenv("CISTERNTWIN_TRIED", "now")
    with ready.worker() as one:
        pid = ask(one, replications=400, years=20)
        assert '"CISTERNTWIN_TRIED": "now"' in (one.folder / "environment.json").read_text()
        one.kill()
        assert code(one) == -signal.SIGKILL
        assert not alive(pid)


def test_a_refused_question_ends_with_its_code(ready):
    with ready.worker() as one:
        ask(one, replications=0)
        assert code(one) == 2
        assert (one.folder / "refused.txt").read_text() == "replications is 0; wanted 1 or more"


def test_when_it_is_ended_its_workers_end_and_the_next_is_made_by_another(ready):
    loaded = ready.begin()
    with ready.worker() as one:
        pid = ask(one, replications=400, years=20)
        os.kill(loaded.process.pid, signal.SIGKILL)
        assert code(one) == -signal.SIGKILL
        until(lambda: not alive(pid))
    with ready.worker() as one:
        assert ready.begin() is not loaded
        ask(one)
        assert code(one) == 0


def test_when_its_input_closes_its_workers_end(ready):
    with ready.worker() as one:
        pid = ask(one, replications=400, years=20)
        ready.end()
        until(lambda: not alive(pid))
