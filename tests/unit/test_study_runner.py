"""Requests to a runner: order, what was run before, several designs; made-up runs where it can be."""

import pandas as pd
import pytest

from sim.errors import InputError
from sim.scenario.read import load
from sim.study.runs import batch, request, runner


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
