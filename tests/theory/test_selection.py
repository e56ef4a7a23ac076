"""The search on toys whose best arm is known: how often it is chosen, and what a search may not do.

Least favourable case of Kim & Nelson 2001 (ACM TOMACS 11:251): all others dearer by just what matters.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from sim.study.search.limits import Limits, one_sided
from sim.study.search.pool import Arm, Pool
from sim.study.search.search import CHOSEN, OVER, SELECT_FROM, search
from sim.study.search.selection import eta

WORTH = 25.0


@dataclass(frozen=True)
class Name:
    name: str


@dataclass(frozen=True)
class House:
    label: str
    policies: tuple


class Toy:
    """A runner of normal, correlated rows: cost is a mean, weather all share, and chance of its own."""

    def __init__(self, seed, costs, days, shared_sd=60.0, own_sd=20.0):
        self.designs = tuple(House(f"d{at}", (Name("p"),)) for at in range(len(costs)))
        self.seed, self.costs, self.days = seed, costs, days
        self.shared_sd, self.own_sd = shared_sd, own_sd
        self.asked = []

    def run(self, requests):
        rows = []
        for request in requests:
            for number in range(request.first, request.stop):
                self.asked.append((request.design, number))
                shared = np.random.default_rng([self.seed, number]).standard_normal(1)[0]
                own = np.random.default_rng([self.seed, number, request.design + 1]).standard_normal(2)
                cost = self.costs[request.design] + self.shared_sd * shared + self.own_sd * own[0]
                rows.append((request.design, "p", number, 3.0, cost, self.days[request.design] + own[1]))
        columns = ["design", "policy", "replication", "years", "cost", "days_below_target"]
        return pd.DataFrame(rows, columns=columns)


def found(seed, costs, days, full=False, **more):
    toy = Toy(seed, costs, days, **more)
    return toy, search(Pool(toy, np.zeros(len(costs))), Limits(5.0), WORTH, 20, full)


# The first is the best; the last is cheaper by twice what matters and over the limit of 5 days.
SLIPPAGE = [500.0] + [500.0 + WORTH] * 8 + [500.0 - 2 * WORTH]
DAYS = [2.0] * 9 + [8.0]


def test_the_best_is_chosen_at_least_as_often_as_is_said():
    right = sum(found(seed, SLIPPAGE, DAYS)[1].chosen == Arm(0, 0) for seed in range(500))
    assert right / 500 >= 0.95


def test_without_a_search_the_cheapest_looking_of_few_runs_is_often_wrong():
    """The toy is hard enough that the bar above could fail."""
    wrong = 0
    for seed in range(200):
        pool = Pool(Toy(seed, SLIPPAGE[:-1], DAYS[:-1]), np.zeros(9))
        pool.need(pool.arms, 0, 5)
        wrong += int(np.argmin(pool.sample(pool.arms, 0, 5, "cost").mean(axis=1)) != 0)
    assert wrong / 200 > 0.10


def test_a_cheaper_arm_over_the_limit_is_not_chosen():
    result = found(3, SLIPPAGE, DAYS)[1]
    assert result.fates[Arm(9, 0)] == OVER
    assert result.fates[Arm(0, 0)] == CHOSEN


def test_no_arm_is_chosen_when_all_are_over():
    assert found(1, [500.0, 510.0], [9.0, 8.0])[1].chosen is None


def test_finalists_meet_weather_that_screening_did_not_see():
    toy, result = found(5, SLIPPAGE, DAYS)
    first = {number for _, number in toy.asked if number < SELECT_FROM}
    later = {number for _, number in toy.asked if number >= SELECT_FROM}
    assert max(first) < 10
    assert later
    assert len(toy.asked) == len(set(toy.asked))  # nothing twice
    assert result.searched < result.grid * 5


def test_far_apart_arms_cost_few_runs_and_give_the_same_choice_as_the_full_grid():
    costs, days = [500.0 + 200.0 * at for at in range(20)], [2.0] * 20
    _, quick = found(2, costs, days)
    _, whole = found(2, costs, days, full=True)
    assert quick.chosen == whole.chosen == Arm(0, 0)
    assert quick.searched <= 0.6 * whole.searched


def test_equal_arms_come_to_an_end():
    _, result = found(4, [500.0] * 4, [2.0] * 4, own_sd=0.0)
    assert result.settled
    assert result.chosen is not None


@pytest.mark.parametrize("first_runs", [5, 10, 20])
def test_eta_bounds_the_error_of_two_arms(first_runs):
    """P(error) = E[exp(-2 eta chi2/2)]/2 <= error/(k-1): the chi-square moment the constant solves."""
    error, arms = 0.05, 7
    constant = eta(error, arms, first_runs)
    freedom = first_runs - 1
    moment = (1.0 + 2.0 * constant) ** (-freedom / 2.0)  # E exp(-eta chi2) of `freedom` degrees
    assert 0.5 * moment == pytest.approx(error / (arms - 1), rel=1e-12)
    sample = stats.chi2(freedom).expect(lambda x: np.exp(-constant * x))
    assert sample == pytest.approx(moment, rel=1e-6)


def test_bounds_are_those_of_student():
    sample = np.array([1.0, 2.0, 3.0, 4.0, 5.0])
    expected = stats.ttest_1samp(sample, 0.0, alternative="less").confidence_interval(0.99)
    assert one_sided(sample, 1.0, 0.01)[1] == pytest.approx(expected.high, rel=1e-12)
    assert one_sided(np.zeros(10), 2.0, 0.05) == (0.0, pytest.approx((1 - 0.05**0.1) / 2.0))
