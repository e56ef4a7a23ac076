"""Replications put back in order, kept when interrupted, stopped when enough; the runs are made up."""

from itertools import pairwise

import numpy as np
import pytest

from sim.errors import InputError
from sim.scenario.read import load
from sim.study.runs import batch, pace, replicate
from sim.study.runs.means import Means
from sim.study.runs.request import Design, Inputs


@pytest.fixture
def site(monkeypatch):
    scenario = load.load(load.DEMO)

    def made_up(self: batch.Job, unit: batch.Unit) -> list[dict]:
        rng = np.random.default_rng([self.designs[unit.design][2], unit.replication])
        shared, noise = rng.normal(500.0, 100.0), rng.normal(0.0, 5.0, 9)
        names = [policy.name for policy in self.designs[unit.design][1]]
        return [
            {
                "policy": names[at],
                "replication": unit.replication,
                "cost": shared + 50.0 * at + noise[at],
            }
            for at in unit.policies
        ]

    monkeypatch.setattr(batch.Job, "unit", made_up)
    for limit in ("WANTED_S", "LEAST_S"):
        monkeypatch.setattr(pace, limit, 0.0)  # a replication a batch
    return scenario


def run(scenario, replications=10, on_progress=lambda finished, wanted: None, policies=3, **more):
    design = Design("demo", scenario, scenario.policies[:policies])
    means = Means(tell=lambda finished, wanted, what: on_progress(finished, wanted))
    return replicate.study(design, Inputs(1, 2), replications, means, **more)


def test_rows_are_in_the_order_of_policies_then_replications(site):
    seen = []
    result = run(site, on_progress=lambda finished, wanted: seen.append((finished, wanted)))
    names = [policy.name for policy in site.policies[:3]]
    assert list(result.rows["policy"]) == [name for name in names for _ in range(10)]
    assert list(result.rows["replication"]) == list(range(10)) * 3
    assert (result.finished, result.wanted, result.stopped_because) == (10, 10, "complete")
    assert seen[0] == (0, 10)
    assert seen[-1] == (10, 10)
    assert all(later >= earlier for earlier, later in pairwise(seen))


def test_an_interrupted_study_keeps_what_was_finished(site):
    def stop(finished: int, wanted: int) -> None:
        if finished >= 4:
            raise KeyboardInterrupt

    result = run(site, on_progress=stop)
    assert result.interrupted
    assert 4 <= result.finished < 10
    whole = run(site).rows
    kept = whole[whole["replication"] < result.finished].reset_index(drop=True)
    assert result.rows.equals(kept)


def test_an_interrupt_before_the_first_run_leaves_no_rows(site):
    def stop(finished: int, wanted: int) -> None:
        raise KeyboardInterrupt

    result = run(site, on_progress=stop)
    assert (result.finished, len(result.rows), result.interrupted) == (0, 0, True)


def test_it_stops_when_differences_are_known_well_enough(site):
    result = run(site, replications=200, within=20.0)
    assert result.finished < 200
    assert result.stopped_because.startswith("Enough")
    rows = result.rows.pivot(index="replication", columns="policy", values="cost")
    reference = site.policies[0].name
    for name in rows.columns.drop(reference):
        difference = rows[name] - rows[reference]
        # A 95 % interval is wider than two standard errors; the one asked for is wider still (Bonferroni).
        assert 2.0 * difference.std(ddof=1) / np.sqrt(len(difference)) < 20.0


def test_a_width_that_is_never_met_runs_to_the_cap(site):
    assert run(site, replications=12, within=1e-6).stopped_because == "complete"


def test_an_error_of_a_run_is_not_swallowed(site, monkeypatch):
    def broken(self: batch.Job, unit: batch.Unit) -> list[dict]:
        raise ZeroDivisionError

    monkeypatch.setattr(batch.Job, "unit", broken)
    with pytest.raises(ZeroDivisionError):
        run(site)


@pytest.mark.parametrize("number", [0, -1])
def test_numbers_below_their_range_are_refused(site, number):
    with pytest.raises(InputError, match=f"replications is {number}; wanted 1 or more"):
        run(site, replications=number)


def test_no_policy_is_refused(site):
    with pytest.raises(InputError, match="no policy"):
        run(site, policies=0)
