"""Requests to a runner: order, what was run before, several designs; made-up runs where it can be."""

from concurrent.futures import BrokenExecutor
from multiprocessing import resource_tracker, spawn
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from sim.errors import InputError
from sim.scenario.read import load
from sim.scenario.read.series import RainRecord
from sim.study.runs import batch, request, runner
from sim.study.runs.batch import Job, Unit
from sim.study.runs.sent import packed
from sim.study.runs.workers import processes
from tests.hostile.attack import deadline


@pytest.fixture
def designs():
    scenario = load.load(load.DEMO)
    small = scenario.model_copy(update={"name": "other"})
    return [
        request.Design("one", scenario, scenario.policies[:3]),
        request.Design("two", small, scenario.policies[:2]),
    ]


@pytest.fixture
def asked(monkeypatch):
    """Made-up runs; every unit that is run is noted."""
    units: list[batch.Unit] = []

    def made_up(self, unit):
        units.append(unit)
        names = [policy.name for policy in self.designs[unit.design][1]]
        return [
            {
                "policy": names[at],
                "replication": unit.replication,
                "cost": 100.0 * unit.design + at + 0.01 * unit.replication,
            }
            for at in unit.policies
        ]

    monkeypatch.setattr(batch.Job, "unit", made_up)
    return units


def test_rows_come_in_the_order_of_requests_then_policies_then_replications(designs, asked):
    with runner.open_runner(designs, request.Inputs(1, 1), 1) as found:
        rows = found.run([request.Request(1, (1, 0), 2, 4), request.Request(0, (2,), 0, 2)])
    names = [policy.name for policy in designs[0].policies]
    assert list(rows.columns) == ["design", "policy", "replication", "cost"]
    assert list(rows["design"]) == [1, 1, 1, 1, 0, 0]
    assert list(rows["policy"]) == [names[1], names[1], names[0], names[0], names[2], names[2]]
    assert list(rows["replication"]) == [2, 3, 2, 3, 0, 1]


def test_what_was_run_before_is_not_run_again(designs, asked):
    with runner.open_runner(designs, request.Inputs(1, 1), 1) as found:
        first = found.run([request.Request(0, (0, 1), 0, 3)])
        ran = len(asked)
        again = found.run([request.Request(0, (0, 1), 0, 3)])
        assert len(asked) == ran
        more = found.run([request.Request(0, (0, 1, 2), 0, 4)])
    pd.testing.assert_frame_equal(first, again)
    assert len(more) == 12
    runs = [(unit.design, one, unit.replication) for unit in asked for one in unit.policies]
    assert len(runs) == len(set(runs)) == 12


def test_nothing_asked_is_no_rows(designs, asked):
    with runner.open_runner(designs, request.Inputs(1, 1), 1) as found:
        assert len(found.run([])) == 0
    assert asked == []


def test_policies_of_a_replication_go_together_unless_they_take_too_long(designs, asked):
    with runner.open_runner(designs, request.Inputs(1, 1), 1) as found:
        found.run([request.Request(0, (0, 1, 2), 0, 2)])
    assert {unit.policies for unit in asked} == {(0, 1, 2)}
    asked.clear()
    with runner.open_runner(designs, request.Inputs(1, 50), 1) as found:
        found.run([request.Request(0, (0, 1, 2), 0, 1)])
    assert [unit.policies for unit in asked] == [(0,), (1,), (2,)]


def test_no_worker_is_refused(designs):
    with (
        pytest.raises(InputError, match="workers is 0; wanted 1 or more"),
        runner.open_runner(designs, request.Inputs(1, 1), 0),
    ):
        pass


@pytest.mark.skipif(not Path("/bin/false").exists(), reason="no program that ends at once")
def test_a_worker_that_dies_as_it_starts_is_not_waited_for(tiny):
    """What a new process is handed went through a pipe that holds 64 KiB (pipe(7)); this job is longer."""
    scenario = tiny()
    days = np.datetime64("1950-01-01") + np.arange(26_000)
    rain = RainRecord(days, np.full(days.size, 1e-3), "d" * 64)
    job = Job(((scenario, scenario.policies[:1], 1),), 1, rain, None)
    assert len(packed(job)) > 2 * 65_536
    resource_tracker.ensure_running()  # a process as well, but a good one
    before = spawn.get_executable()
    spawn.set_executable("/bin/false")
    try:
        with deadline(60), pytest.raises(BrokenExecutor), processes(job, 1) as crew:
            crew.submit((Unit(0, (0,), 0),)).result()
    finally:
        spawn.set_executable(before)
