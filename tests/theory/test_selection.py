"""The search on toys whose best arm is known: how often it is chosen, and what a search may not do.

Least favourable case of Kim & Nelson 2001 (ACM TOMACS 11:251): all others dearer by just what matters.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from sim.study.search.describe import fresh_front, front, unbeaten
from sim.study.search.limits import Limits, one_sided, put_out
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


@pytest.mark.parametrize("searches", [150, pytest.param(500, marks=pytest.mark.long)])
def test_the_best_is_chosen_at_least_as_often_as_is_said(searches):
    right = sum(found(seed, SLIPPAGE, DAYS)[1].chosen == Arm(0, 0) for seed in range(searches))
    assert right / searches >= 0.95


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


def front_problem(seed):
    """Return a search on ten designs of random cost and days."""
    chance = np.random.default_rng([77, seed])
    costs = 400.0 + np.cumsum(chance.uniform(10.0, 120.0, 10))
    days = chance.uniform(0.5, 10.0, 10)
    toy = Toy(seed, list(costs), list(days))
    pool = Pool(toy, np.zeros(10))
    return pool, search(pool, Limits(5.0), WORTH, 20)


@pytest.mark.parametrize("problems", [20, pytest.param(200, marks=pytest.mark.long)])
def test_the_front_is_that_of_the_full_grid_and_takes_fewer_runs(problems):
    """Nothing that was left out early stands on the front of all designs in the same weather."""
    same, spared, several = 0, 0, 0
    for seed in range(problems):
        pool, result = front_problem(seed)
        line, undecided = fresh_front(pool, result)
        spared += sum(pool.counts(arm, *result.compare) == 0 for arm in pool.arms)
        assert not set(line) & set(undecided)
        pool.need(pool.arms, *result.compare)
        same += line == front(pool, pool.arms, *result.compare)
        several += len(line) > 1
    assert same / problems >= 0.95
    assert spared > problems  # else the early look left nothing out, and the test could not fail
    assert several > problems / 4


def test_who_is_off_the_front_by_chance_is_called_undecided():
    pool = Pool(Toy(1, [500.0, 500.0, 900.0], [2.0, 2.0, 4.0]), np.zeros(3))
    pool.need(pool.arms, 0, 20)
    line = front(pool, pool.arms, 0, 20)
    assert set(unbeaten(pool, pool.arms, 0, 20)) == {Arm(0, 0), Arm(1, 0)}  # the third is beaten for sure
    assert set(line) <= {Arm(0, 0), Arm(1, 0)}


def test_who_is_named_keeps_to_the_limit_by_its_bound_in_fresh_runs():
    """Days at the limit: selections that luck made are not named."""
    named = 0
    for seed in range(20):
        toy = Toy(seed, [500.0, 700.0, 720.0], [4.9, 4.8, 1.0])
        pool = Pool(toy, np.zeros(3))
        result = search(pool, Limits(5.0), WORTH, 20)
        if result.chosen is None:
            continue
        first, stop = result.compare
        days = pool.sample([result.chosen], first, stop, "days_below_target")[0]
        high = stats.ttest_1samp(days, 0.0).confidence_interval(0.95).high
        assert high <= 5.0
        named += result.chosen != Arm(2, 0)
    assert named < 10


def test_a_small_search_takes_no_more_runs_than_the_grid():
    toy = Toy(1, SLIPPAGE[:4], DAYS[:4])
    result = search(Pool(toy, np.zeros(4)), Limits(5.0), WORTH, 8)
    assert result.full
    assert result.searched == len(toy.asked) == 32


class Taps(Toy):
    """The toy with a pressure at the tap: its mean by design, chance of its own."""

    def __init__(self, seed, costs, days, taps):
        super().__init__(seed, costs, days)
        self.taps = taps

    def run(self, requests):
        rows = super().run(requests)
        chance = [
            np.random.default_rng([self.seed, n, d, 3]).normal()
            for n, d in zip(rows["replication"], rows["design"], strict=True)
        ]
        rows["tap_p5_pa"] = np.array(self.taps)[rows["design"]] + 5e3 * np.array(chance)
        return rows


@pytest.mark.parametrize("full", [True, False])
def test_what_gives_too_little_pressure_is_out_though_it_is_cheapest(full):
    """Means 30 standard deviations of a run apart: which arm is beyond the limit is beyond doubt."""
    toy = Taps(1, [400.0, 500.0, 600.0], [2.0, 2.0, 9.0], [50e3, 200e3, 50e3])
    pool = Pool(toy, np.zeros(3))
    limits = Limits(5.0, tap_pa=137.9e3)
    result = search(pool, limits, WORTH, 20, full)
    assert result.chosen == Arm(1, 0)
    assert result.fates[Arm(0, 0)] == result.fates[Arm(2, 0)] == OVER
    over = [arm for arm, fate in result.fates.items() if fate == OVER]
    assert put_out(pool, over, limits) == {"days below the dose target": 1, "pressure at the tap": 2}
    assert search(Pool(toy, np.zeros(3)), Limits(5.0), WORTH, 20, full).chosen == Arm(0, 0)
