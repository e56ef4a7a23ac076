"""A worker that waits for a question: it has its code loaded, and is gone with who keeps it."""

import os
import time
from pathlib import Path

import pytest

from dashboard.jobs.ready import Ready
from dashboard.jobs.worker import ANSWER
from sim.scenario.read.load import DEMO, load
from sim.study.compare.question import CompareQuestion
from sim.study.question import Site
from sim.study.questions import question_files, read_answer


def until(happened, seconds=120.0):
    end = time.monotonic() + seconds
    while not happened():
        assert time.monotonic() < end
        time.sleep(0.05)


@pytest.fixture
def ready():
    made = Ready()
    yield made
    made.end()


def test_nobody_waits_before_that_is_asked_for(ready):
    with ready.worker() as one:
        assert one.process.poll() is None and one.folder.is_dir()
    assert ready._waiting is None and not one.folder.exists()
    assert one.process.returncode == 0  # it was told of no question


@pytest.mark.skipif(not Path("/proc/self/maps").is_file(), reason="looks at what a process has loaded")
def test_one_waits_with_its_code_loaded_answers_and_is_followed_by_another(ready):
    ready.begin()
    first = ready._waiting
    until(lambda: "llvmlite" in Path(f"/proc/{first.process.pid}/maps").read_text())
    house = load(DEMO)
    question = CompareQuestion(site=Site(house), policies=("as things fail",), years=1, replications=1)
    with ready.worker() as one:
        assert one is first
        for name, content in question_files(question, {}).items():
            (one.folder / name).write_bytes(content)
        one.go()
        assert one.process.wait(120) == 0
        assert read_answer(one.folder / ANSWER).finished == 1
    assert ready._waiting not in {None, first}


def test_one_that_was_ended_is_not_given_out(ready):
    ready.begin()
    first = ready._waiting
    os.kill(first.process.pid, 9)
    first.process.wait(60)
    with ready.worker() as one:
        assert one is not first and one.process.poll() is None
    assert not first.folder.exists()
