"""The table of jobs: one name for one content, an end when asked to stop, a bound on what is kept."""

import dataclasses
import time

import pytest

from dashboard.jobs import job_table
from dashboard.jobs.worker import Question
from sim.scenario.read import load
from sim.scenario.values.digest import digest


@pytest.fixture
def question():
    scenario = load.load(load.DEMO)
    names = tuple(policy.name for policy in scenario.policies)
    return Question("study", scenario, digest(scenario), names, 1, 2, 1)


def ended(table, key):
    until = time.monotonic() + 180.0
    while table.get(key).active:
        assert time.monotonic() < until
        time.sleep(0.05)
    return table.get(key)


@pytest.mark.parametrize(
    "change",
    [
        {"kind": "history"},
        {"digest": "0"},
        {"policies": ("nothing done",)},
        {"years": 2},
        {"replications": 3},
        {"seed": 2},
        {"units": "si"},
        {"first_day": 28},
    ],
)
def test_every_part_of_a_question_is_in_its_key(question, change):
    assert job_table.key_of(dataclasses.replace(question, **change)) != job_table.key_of(question)
    assert job_table.key_of(dataclasses.replace(question)) == job_table.key_of(question)


def test_a_study_can_be_stopped_and_keeps_what_was_finished(question):
    table = job_table.JobTable()
    key = table.start(dataclasses.replace(question, replications=400, years=2))
    until = time.monotonic() + 180.0
    while table.get(key).done < 1:
        assert time.monotonic() < until
        time.sleep(0.05)
    table.cancel(key)
    job = ended(table, key)
    assert job.state == "cancelled"
    assert 1 <= job.result.finished < 400
    assert len(job.result.rows) == job.result.finished * len(question.policies)


def test_what_is_kept_is_bounded(question, monkeypatch):
    def at_once(job, question, folder):
        return "done"

    monkeypatch.setattr(job_table, "_attend", at_once)
    table = job_table.JobTable()
    keys = []
    for seed in range(job_table.MOST_KEPT + 10):
        keys.append(table.start(dataclasses.replace(question, seed=seed)))
        ended(table, keys[-1])
    assert len(table._jobs) == job_table.MOST_KEPT
    assert table.get(keys[0]) is None
    assert table.get(keys[-1]).state == "done"


def test_a_refused_question_says_why_in_one_line(question):
    table = job_table.JobTable()
    job = ended(table, table.start(dataclasses.replace(question, replications=0)))
    assert job.state == "failed"
    assert job.said == "replications is 0; wanted 1 or more"
