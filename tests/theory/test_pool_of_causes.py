"""How often intervals of days, by cause and between policies, and of the share of people hold their mean.

Runs are drawn with repeats, so that the kept ones are all there is and their mean is the truth.
"""

from itertools import combinations

import numpy as np
import pytest

from sim.outcome.causes import DAYS, PEOPLE, column
from sim.plant.cause import CAUSES
from sim.study.compare.measures import cause_interval, counted_days, days_by, days_difference, days_interval
from sim.study.statistics.shares import share_interval
from tests.theory.pool_of_causes import FOLDER, SITES, YEARS, pool

SIZES = (10, 40)
NOMINAL, LEAST_HELD = 0.95, 0.93
REST = tuple(code for code in range(len(CAUSES)) if code not in PEOPLE)
SOME, MANY = 40, 400  # draws of each size and policy


def truths(group):
    """Return the means of all kept runs: days, those of people, their share."""
    people = sum(days_by(group, code) for code in PEOPLE).mean()
    whole = counted_days(group).mean()
    return {"days": whole, "days by people": people, "share of people": people / whole}


def found(rows):
    """Return the intervals of a study of some runs."""
    people, rest = (cause_interval(rows, codes, NOMINAL) for codes in (PEOPLE, REST))
    days = days_interval(counted_days(rows), YEARS, NOMINAL)
    return {"days": days, "days by people": people, "share of people": share_interval(people, rest)}


def covered(group, size, trials, generator):
    """Return in which share of draws each interval holds the mean."""
    wanted = truths(group)
    held = dict.fromkeys(wanted, 0)
    for _ in range(trials):
        rows = group.iloc[generator.integers(0, len(group), size)]
        for name, interval in found(rows).items():
            held[name] += interval.low <= wanted[name] <= interval.high
    return {name: count / trials for name, count in held.items()}


def covered_between(group, base, size, trials, generator):
    """Return in which share of draws of pairs of runs the interval holds the mean difference of days."""
    wanted, held = counted_days(group).mean() - counted_days(base).mean(), 0
    for _ in range(trials):
        pairs = generator.integers(0, len(group), size)
        interval = days_difference(group.iloc[pairs], base.iloc[pairs], NOMINAL)
        held += interval.low <= wanted <= interval.high
    return held / trials


@pytest.mark.parametrize("site", SITES)
@pytest.mark.parametrize("trials", [SOME, pytest.param(MANY, marks=pytest.mark.long)])
def test_intervals_of_days_hold_the_mean_of_the_pool(site, trials, record_property):
    rows, generator = pool(site), np.random.default_rng(trials)
    assert {column(DAYS, code) for code in range(len(CAUSES))} <= set(rows)
    least = LEAST_HELD - 3.0 * np.sqrt(LEAST_HELD * (1.0 - LEAST_HELD) / trials)
    groups = [group.sort_values("replication") for _, group in rows.groupby("policy", sort=False)]
    for size in SIZES:
        shares = [covered(group, size, trials, generator) for group in groups]
        held = {name: [one[name] for one in shares] for name in shares[0]}
        held["days between policies"] = [
            covered_between(*pair, size, trials, generator) for pair in combinations(groups, 2)
        ]
        for name, each in held.items():
            said = f"{100 * min(each):.1f} to {100 * max(each):.1f} %"
            record_property(f"{name}, {size} runs: held in", said)
            assert min(each) >= least, (name, size, each)


def test_every_site_has_its_pool():
    assert {path.stem for path in FOLDER.glob("*.csv")} == set(SITES)
