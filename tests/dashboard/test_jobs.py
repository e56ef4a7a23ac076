"""The table of jobs: one name for one content, an end when asked to stop, a bound on what is kept."""

import contextlib
import dataclasses
import time
from types import SimpleNamespace

import pytest

from dashboard.jobs import job_table
from sim.scenario.read import load
from sim.study.close_up.question import CloseUpQuestion
from sim.study.compare.question import CompareQuestion
from sim.study.one_run.question import RunQuestion
from sim.study.question import Site
from sim.study.skip.question import SkipQuestion


@pytest.fixture
def question():
    scenario = load.load(load.DEMO)
    names = tuple(policy.name for policy in scenario.policies)
    return CompareQuestion(site=Site(scenario), policies=names, years=1, replications=2)


def ended(table, key):
    until = time.monotonic() + 180.0
    while table.get(key).active:
        assert time.monotonic() < until
        time.sleep(0.05)
    return table.get(key)


def of_run(question, **more):
    return RunQuestion(site=question.site, policy=question.policies[0], years=1, **more)


def close_up(question, first_day):
    return CloseUpQuestion(site=question.site, policy=question.policies[0], years=1, first_day=first_day)


def skip(question, units):
    return SkipQuestion(site=question.site, policy=question.policies[0], years=1, replications=2, units=units)


@pytest.mark.parametrize(
    "other",
    [
        of_run,
        lambda asked: dataclasses.replace(asked, site=Site(load.load("cottage"))),
        lambda asked: dataclasses.replace(asked, policies=("nothing done",)),
        lambda asked: dataclasses.replace(asked, years=2),
        lambda asked: dataclasses.replace(asked, replications=3),
        lambda asked: dataclasses.replace(asked, seed=2),
        lambda asked: dataclasses.replace(asked, within=50.0),
        lambda asked: job_table.ReportOf(asked, SimpleNamespace(finished=2), "us"),
    ],
)
def test_every_part_of_a_question_is_in_its_key(question, other):
    assert job_table.key_of(other(question)) != job_table.key_of(question)
    assert job_table.key_of(dataclasses.replace(question)) == job_table.key_of(question)


def test_units_days_and_runs_are_in_the_key_where_an_answer_depends_on_them(question):
    made = [skip(question, "us"), skip(question, "si"), close_up(question, 0), close_up(question, 28)]
    made += [of_run(question), of_run(question, replication=1), of_run(question, tables=("days",))]
    made += [
        job_table.ReportOf(question, SimpleNamespace(finished=n), u) for n in (1, 2) for u in ("us", "si")
    ]
    assert len({job_table.key_of(one) for one in made}) == len(made)


def test_a_rougher_answer_is_there_while_a_study_is_under_way(question):
    table = job_table.JobTable()
    key = table.start(dataclasses.replace(question, replications=400, years=2))
    until = time.monotonic() + 180.0
    while table.get(key).partial is None:
        assert time.monotonic() < until
        time.sleep(0.05)
    partial = table.get(key).partial
    table.cancel(key)
    assert partial.stopped_because == "under way"
    assert len(partial.rows) == partial.finished * len(question.policies)
    assert partial.comparison.runs == partial.finished >= 2
    assert ended(table, key).result.finished >= partial.finished


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
    monkeypatch.setattr(job_table, "_attend", lambda job, question, worker: "done")
    monkeypatch.setattr(job_table.READY, "worker", contextlib.nullcontext)
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
