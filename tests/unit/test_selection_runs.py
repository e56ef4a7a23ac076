"""How long the selection among finalists goes on, and whom it puts out when: by hand from its formula."""

import math

import numpy as np
import pytest

from sim.study.search import selection
from sim.study.search.selection import BLOCK, FIRST_RUNS, eta, select

WORTH, ERROR = 10.0, 0.1


class Costs:
    """Stands for the runs of arms: their costs are given."""

    def __init__(self, *rows):
        self.rows, self.asked = np.array(rows, float), 0

    def need(self, arms, first, stop):
        self.asked = max(self.asked, stop)

    def sample(self, arms, first, stop, column):
        return self.rows[list(arms), first:stop]


@pytest.fixture(autouse=True)
def all_within(monkeypatch):
    monkeypatch.setattr(selection, "standings", lambda pool, arms, *_: dict.fromkeys(arms, "within"))
    monkeypatch.setattr(selection, "dearer", lambda *_: [])


def selected(pool, arms, most=400):
    return select(pool, list(range(arms)), None, WORTH, 0.05, ERROR, 0, most)


def longest(variance, arms):
    """Return the replications after which every boundary is shut (Kim & Nelson 2001, theorem 1)."""
    h2 = 2.0 * eta(ERROR / 2.0, arms, FIRST_RUNS) * (FIRST_RUNS - 1)
    return math.floor(h2 * variance / WORTH**2)


@pytest.mark.parametrize("swing", [5.0, 20.0, 40.0])
def test_arms_that_are_alike_are_followed_until_every_boundary_is_shut(swing):
    """One arm swings about the other in the first ten runs and is as dear as it from then on."""
    swings = np.zeros(400)
    swings[:FIRST_RUNS] = swing * np.tile([1.0, -1.0], FIRST_RUNS // 2)
    pool = Costs(np.full(400, 100.0), 100.0 + swings)
    found = selected(pool, 2)
    shut = longest(np.var(swings[:FIRST_RUNS], ddof=1), 2)
    assert found.settled and found.left == [0, 1]
    assert max(FIRST_RUNS, shut + 1) <= found.runs <= max(FIRST_RUNS, shut + BLOCK)


def test_arms_without_spread_are_told_apart_by_the_first_runs():
    found = selected(Costs(np.full(400, 100.0), np.full(400, 100.5)), 2)
    assert (found.runs, found.chosen, found.left, found.settled) == (FIRST_RUNS, 0, [0], True)


def test_the_cheaper_by_far_is_chosen_wherever_it_stands():
    swings = np.random.default_rng(7).normal(0.0, 5.0, (3, 400))
    found = selected(Costs(*(np.array([[130.0], [100.0], [160.0]]) + swings)), 3)
    assert found.chosen == 1 and found.settled and found.left == [1]


def test_it_ends_unsettled_at_the_most_runs():
    swings = np.zeros(40)
    swings[:FIRST_RUNS] = 40.0 * np.tile([1.0, -1.0], FIRST_RUNS // 2)
    pool = Costs(np.full(40, 100.0), 100.0 + swings)
    found = selected(pool, 2, most=30)
    assert longest(np.var(swings[:FIRST_RUNS], ddof=1), 2) > 30
    assert (found.runs, found.settled, pool.asked) == (30, False, 30)


def test_one_arm_alone_is_chosen_and_none_of_none():
    assert selected(Costs(np.full(40, 100.0)), 1).chosen == 0
    none = select(None, [], None, WORTH, 0.05, ERROR, 0, 40)
    assert (none.chosen, none.settled, none.runs) == (None, True, 0)
