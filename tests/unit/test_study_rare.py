"""Rare counts: the gamma bounds against exact Poisson limits, and when they are used."""

import math

import numpy as np
import pytest
from scipy import stats

from sim.errors import InputError
from sim.study.statistics.rare import is_rare, rare_difference, rare_interval


@pytest.mark.parametrize("seen", [1, 2, 7, 19])
def test_counts_all_as_large_as_the_unseen_one_have_the_exact_poisson_limits(seen):
    # Garwood 1936: chi-square limits of a Poisson count, here of runs with 30 each.
    counts = np.where(np.arange(40) < seen, 30.0, 0.0)
    found = rare_interval(counts, 30.0, 0.95)
    assert found.low == pytest.approx(30 / 40 * stats.chi2.ppf(0.025, 2 * seen) / 2, rel=1e-9)
    assert found.high == pytest.approx(30 / 40 * stats.chi2.ppf(0.975, 2 * seen + 2) / 2, rel=1e-9)
    assert stats.poisson.cdf(seen, found.high * 40 / 30) == pytest.approx(0.025, rel=1e-9)


def test_none_seen_follows_the_rule_of_three():
    found = rare_interval(np.zeros(100), 1.0, 0.90)
    assert found.high == pytest.approx(-math.log(0.05) / 100, rel=1e-9)
    assert found.high == pytest.approx(3 / 100, rel=2e-3)
    assert found.low == found.estimate == 0.0


def test_a_larger_one_that_was_seen_counts_for_the_unseen_one():
    counts = np.where(np.arange(40) == 0, 80.0, 0.0)
    assert rare_interval(counts, 30.0, 0.95).high == rare_interval(counts, 80.0, 0.95).high
    assert rare_interval(counts, 90.0, 0.95).high > rare_interval(counts, 80.0, 0.95).high


def test_a_difference_turns_round_with_its_sides():
    x, y = np.zeros(40), np.zeros(40)
    x[:3], y[2:9] = 5.0, 2.0
    one, other = rare_difference(x, y, 30.0, 0.95), rare_difference(y, x, 30.0, 0.95)
    assert one.estimate == pytest.approx((15.0 - 14.0) / 40, rel=1e-12)
    assert (one.low, one.high) == pytest.approx((-other.high, -other.low), rel=1e-12)
    assert one.low < 0 < one.high
    assert "only 9 of 40 pairs differ" in one.reason


def test_a_difference_shares_its_error_over_its_two_sides():
    # Three pairs differ by 30, none the other way: Garwood's limits of 3 and of 0, each at half the error.
    x = np.where(np.arange(40) < 3, 30.0, 0.0)
    found = rare_difference(x, np.zeros(40), 30.0, 0.95)
    scale, tail = 30.0 / 40.0, 0.05 / 2 / 2
    assert found.high == pytest.approx(scale * stats.chi2.ppf(1 - tail, 8) / 2, rel=1e-9)
    low = stats.chi2.ppf(tail, 6) / 2 - stats.chi2.ppf(1 - tail, 2) / 2
    assert found.low == pytest.approx(scale * low, rel=1e-9)


@pytest.mark.parametrize(
    ("affected", "runs", "rare"),
    [(0, 40, True), (19, 40, True), (20, 40, False), (7, 10, True), (8, 10, False), (0, 1, True)],
)
def test_rare_is_fewer_than_twenty_and_than_three_in_four(affected, runs, rare):
    assert is_rare(np.where(np.arange(runs) < affected, 1.0, 0.0)) is rare


@pytest.mark.parametrize("counts", [[], [1.0, -1.0], [math.nan], [math.inf, 1.0]])
def test_what_is_no_count_is_refused(counts):
    with pytest.raises(InputError, match="a list of counts is wanted"):
        rare_interval(counts, 30.0, 0.95)
