"""Many studies drawn from kept runs give one answer, and intervals of hours hold their mean."""

from collections import Counter

import numpy as np
import pandas as pd
import pytest

from sim.scenario.read.load import DEMO, load
from sim.study.compare.comparison import compare_by_goals
from sim.study.compare.measures import alarm_interval, column_of, off_interval, off_parts
from sim.study.compare.standing import LOOKS
from tests.theory.pool_of_runs import FILE, RUNS, YEARS


@pytest.fixture(scope="module")
def pool():
    return pd.read_csv(FILE)


def drawn(pool, size, generator):
    """Return some of the runs, numbered anew in the order in which they were drawn."""
    number = {run: at for at, run in enumerate(generator.permutation(RUNS)[:size])}
    return pool[pool["replication"].isin(number)].assign(
        replication=lambda rows: rows["replication"].map(number)
    )


def settled(rows, goals):
    """Look as a study looks, until it is settled or the runs are used up."""
    for look in LOOKS:
        found = compare_by_goals(rows[rows["replication"] < look], rows["policy"].iloc[0], goals, looks=LOOKS)
        if found.settled:
            break
    return found


@pytest.mark.parametrize("limit_days", [2.0, 2.5, 3.0, 4.0, 5.0])
@pytest.mark.parametrize("studies", [12, pytest.param(100, marks=pytest.mark.long)])
def test_studies_of_other_seeds_give_one_answer(pool, limit_days, studies):
    goals = load(DEMO).goals.model_copy(update={"limit_days_below_target": limit_days})
    generator = np.random.default_rng(int(10 * limit_days))
    found = [settled(drawn(pool, LOOKS[-1], generator), goals) for _ in range(studies)]
    said = Counter(one.best for one in found)
    named = {name: count for name, count in said.items() if name is not None}
    print(limit_days, dict(said), "mean runs", np.mean([one.runs for one in found]))
    assert sum(named.values()) - max(named.values(), default=0) <= 0.05 * studies  # who is named is the same
    for policy in dict.fromkeys(pool["policy"]):
        states = {one.summary(policy).standing for one in found}
        assert not {"within", "over"} <= states, policy
    if limit_days >= 4.0 and studies == 100:
        assert np.mean([one.runs for one in found]) <= 45.0


# Of 1,000 draws of 10, 20 and 40 runs bounds of alarm hours (skewness 1.4 to 2.2) held in 93 to 98 %.
LEAST_HELD = {"water_off_h": 0.93, "alarm_h": 0.9}
BOUNDS = {
    "water_off_h": lambda rows: off_interval(off_parts(rows), YEARS, 0.95),
    "alarm_h": lambda rows: alarm_interval(column_of(rows, "alarm_h"), 0.95),
}


@pytest.mark.parametrize("size", [10, 20])
@pytest.mark.parametrize("measure", BOUNDS)
def test_intervals_of_hours_hold_the_mean_of_the_pool(pool, measure, size):
    generator, trials = np.random.default_rng(size), 150
    for policy, group in pool.groupby("policy"):
        mean, held = group[measure].mean(), 0
        for _ in range(trials):
            rows = drawn(pool, size, generator)
            found = BOUNDS[measure](rows[rows["policy"] == policy])
            held += found.low <= mean <= found.high
        print(measure, size, policy, held / trials)
        assert held >= LEAST_HELD[measure] * trials, (policy, held)
