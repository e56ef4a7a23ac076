"""No visitor takes all the room: some questions wait for one browser, some more for all; words say so."""

import contextlib
import dataclasses
import threading
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from dashboard import frame
from dashboard.jobs import job_table
from dashboard.jobs.answer_store import AnswerStore
from sim.errors import InputError
from sim.scenario.read import load
from sim.study.compare.question import CompareQuestion
from sim.study.question import Site

APP = str(Path(__file__).parents[2] / "dashboard" / "app.py")
QUESTION = CompareQuestion(
    site=Site(load.load("cottage")), policies=("nothing done",), years=1, replications=1
)


@pytest.fixture
def held(monkeypatch, tmp_path):
    """A table whose questions do not end before they are let go; return it and what lets go."""
    go = threading.Event()
    monkeypatch.setattr(job_table, "_attend", lambda *_: "done" if go.wait(60.0) else "failed")
    monkeypatch.setattr(job_table.READY, "worker", contextlib.nullcontext)  # none is started for nothing
    yield job_table.JobTable(AnswerStore(tmp_path)), go
    go.set()


def asked(seed):
    return dataclasses.replace(QUESTION, seed=seed)


def states(table):
    return [job.state for job in table._jobs.values()]


def ended(table):
    while any(job.active for job in table._jobs.values()):
        threading.Event().wait(0.01)


def test_eight_of_a_visitor_and_thirty_in_all(held):
    table, go = held
    for seed in range(8):
        table.start(asked(seed), "a")
    with pytest.raises(InputError, match="8 of your questions are under way or waiting, 2 at a time; wait"):
        table.start(asked(8), "a")
    assert table.start(asked(3), "a") == table.start(asked(3), "b")  # is under way: asked once for both
    for number in range(22):
        table.start(asked(100 + number), f"visitor {number // 7}")
    with pytest.raises(
        InputError, match="30 questions are under way or waiting here, by all who ask; try again"
    ):
        table.start(asked(200), "somebody else")
    assert sorted(set(states(table))) == ["running", "waiting"]
    assert states(table).count("running") <= 2
    go.set()
    ended(table)
    table.start(asked(200), "a")  # there is room again


def test_a_page_says_that_there_is_no_room(held, monkeypatch):
    table, _ = held
    monkeypatch.setattr(frame, "jobs", lambda: table)
    for number in range(30):
        table.start(asked(number), f"visitor {number // 8}")
    at = AppTest.from_file(APP, default_timeout=60)
    at.query_params["years"] = "1"
    assert not at.run().exception  # the first page asks by itself, and has no room either
    at.switch_page("views/compare.py").run()
    at.button(key="go").click().run()
    assert not at.exception
    (said,) = [one.value for one in at.warning]
    assert said.startswith("Not asked: 30 questions are under way or waiting here, by all who ask; try again")
    assert not at.run().warning
