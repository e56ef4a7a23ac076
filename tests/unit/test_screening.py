"""Screening by made-up costs: who is out, at which difference, and how the chance of a mistake is shared out.

Quantiles of t are those of scipy.stats; the rule is that of Nelson et al. (2001), with paired differences.
"""

import numpy as np
import pytest
from scipy import stats

from sim.study.search import screen as screening
from sim.study.search.pool import Arm
from sim.study.search.screen import dearer, screen

FIRST, SECOND, THIRD = Arm(0, 0), Arm(1, 0), Arm(2, 0)
WAVE = np.array([1.0, -1.0] * 8)  # what two arms differ by from run to run, beside their means


class MadeUp:
    """Costs by arm; the first varies with the weather, which all of them meet."""

    def __init__(self, **means):
        weather = 100.0 * np.sin(np.arange(16.0))
        self.costs = {
            arm: mean + weather + (0.0 if at == 0 else WAVE)
            for at, (arm, mean) in enumerate(zip((FIRST, SECOND, THIRD), means.values(), strict=False))
        }
        self.asked = []

    def need(self, arms, first, stop):
        self.asked.append((tuple(arms), first, stop))

    def sample(self, arms, first, stop, column):
        assert column == "cost_a_year"
        return np.array([self.costs[arm][first:stop] for arm in arms])


def margin(runs, error, worth):
    """Return the difference from which an arm is surely dearer."""
    spread = np.sqrt(runs / (runs - 1))  # of a wave of ones, over an even number of runs
    return max(0.0, stats.t.ppf(1.0 - error, runs - 1) * spread / np.sqrt(runs) - worth)


@pytest.mark.parametrize("worth", [0.1, 0.5, 50.0])
@pytest.mark.parametrize(("first", "runs"), [(0, 8), (2, 6), (0, 16)])
@pytest.mark.parametrize("error", [0.05, 0.005])
def test_an_arm_is_dearer_beyond_what_chance_and_worth_allow(worth, first, runs, error):
    at = margin(runs, error, worth)
    for gap, out in ((at + 1e-6, [SECOND]), (at - 1e-6, [])):
        pool = MadeUp(one=500.0, other=500.0 + gap)
        assert dearer(pool, [FIRST, SECOND], [FIRST], first, runs, worth, error) == out


def test_without_one_shown_within_the_limits_none_is_dearer():
    assert dearer(MadeUp(one=500.0, other=900.0), [FIRST, SECOND], [], 0, 8, 25.0, 0.05) == []


def test_one_dearer_than_any_that_is_within_is_out():
    pool = MadeUp(one=500.0, other=400.0, third=450.0)
    assert dearer(pool, [FIRST, SECOND, THIRD], [FIRST, SECOND], 0, 8, 1.0, 0.05) == [FIRST, THIRD]
    assert dearer(pool, [FIRST, SECOND, THIRD], [FIRST], 0, 8, 1.0, 0.05) == []


def standing(**by_look):
    """Return standings by number of runs; within where nothing is said."""

    def of(pool, arms, first, runs, limits, error):
        del pool, first, limits
        of.errors.append(error)
        return {arm: by_look.get(f"at_{runs}", {}).get(arm, "within") for arm in arms}

    of.errors = []
    return of


def test_the_chance_of_a_mistake_is_shared_out_over_looks_and_over_the_arms_but_one(monkeypatch):
    of = standing()
    monkeypatch.setattr(screening, "standings", of)
    at = margin(6, 0.08 / (2 * 2), 0.1)
    pool = MadeUp(one=500.0, other=500.0 + at + 1e-6, third=500.0 + at - 1e-6)
    found = screen(pool, [FIRST, SECOND, THIRD], None, 0.1, 0.04, 0.08, looks=(6, 6))
    assert found.why == {SECOND: "dearer"} and found.kept == [FIRST, THIRD]
    assert of.errors == [0.02, 0.02]


def test_each_look_runs_only_those_still_in_and_the_last_one_in_ends_it(monkeypatch):
    monkeypatch.setattr(screening, "standings", standing(at_4={SECOND: "over"}, at_8={THIRD: "undecided"}))
    pool = MadeUp(one=500.0, other=900.0, third=800.0)
    found = screen(pool, [FIRST, SECOND, THIRD], None, 25.0, 0.05, 0.05, looks=(4, 8, 16))
    assert pool.asked == [((FIRST, SECOND, THIRD), 0, 4)]
    assert found.why == {SECOND: "over", THIRD: "dearer"}  # over a limit is said before dear
    assert found.kept == [FIRST] and found.runs == {FIRST: 4, SECOND: 4, THIRD: 4}


def test_those_out_are_not_run_on(monkeypatch):
    monkeypatch.setattr(screening, "standings", standing(at_4={SECOND: "over"}))
    pool = MadeUp(one=500.0, other=900.0, third=500.0)
    found = screen(pool, [FIRST, SECOND, THIRD], None, 25.0, 0.05, 0.05, looks=(4, 8))
    assert pool.asked == [((FIRST, SECOND, THIRD), 0, 4), ((FIRST, THIRD), 0, 8)]
    assert found.runs == {FIRST: 8, SECOND: 4, THIRD: 8} and found.kept == [FIRST, THIRD]
