"""How often intervals of days by cause, and of the share of people in them, hold the mean of kept runs.

Runs are drawn with repeats, so that the kept ones are all there is and their mean is the truth.
"""

import numpy as np
import pytest

from sim.outcome.causes import DAYS, PEOPLE, column
from sim.plant.cause import CAUSES
from sim.study.compare.measures import cause_interval, counted_days, days_by, days_interval
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
    wanted, held = truths(group), dict.fromkeys(truths(group), 0)
    for _ in range(trials):
        rows = group.iloc[generator.integers(0, len(group), size)]
        for name, interval in found(rows).items():
            held[name] += interval.low <= wanted[name] <= interval.high
    return {name: count / trials for name, count in held.items()}


@pytest.mark.parametrize("site", SITES)
@pytest.mark.parametrize("trials", [SOME, pytest.param(MANY, marks=pytest.mark.long)])
def test_intervals_by_cause_hold_the_mean_of_the_pool(site, trials, record_property):
    """Of all days no share is asked: what was measured stands on the page of evidence, and does not hold."""
    rows, generator = pool(site), np.random.default_rng(trials)
    assert {column(DAYS, code) for code in range(len(CAUSES))} <= set(rows)
    shares = {}
    for policy, group in rows.groupby("policy", sort=False):
        for size in SIZES:
            for name, share in covered(group, size, trials, generator).items():
                shares.setdefault((name, size), {})[policy] = share
    room = 3.0 * np.sqrt(LEAST_HELD * (1.0 - LEAST_HELD) / trials)
    for (name, size), by_policy in shares.items():
        low, high = min(by_policy.values()), max(by_policy.values())
        record_property(f"{name}, {size} runs: held in", f"{100 * low:.1f} to {100 * high:.1f} %")
        if name != "days":
            assert low >= LEAST_HELD - room, (name, size, by_policy)


def test_every_site_has_its_pool():
    assert {path.stem for path in FOLDER.glob("*.csv")} == set(SITES)
