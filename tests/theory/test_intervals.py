"""Intervals mean what they say: coverage on toys whose truth is known, and where it is known to fall short.

Coverage over independent trials is binomial. With p the coverage that theory gives, four standard errors are
4 sqrt(p (1 - p) / trials). Seeds are fixed, what is expected never comes from the code under test.
"""

import math

import numpy as np
import pytest
from scipy import stats

from sim.study.statistics import intervals

TRIALS = 2_000


def four_errors(share, trials=TRIALS):
    return 4 * math.sqrt(share * (1 - share) / trials)


def covers(interval, truth):
    return interval.low <= truth <= interval.high


@pytest.mark.parametrize(("confidence", "runs"), [(0.95, 3), (0.95, 40), (0.99, 10)])
def test_t_interval_of_normal_runs_covers_exactly_as_it_says(confidence, runs):
    # Student 1908: exact for normal values at every n.
    samples = np.random.default_rng(101).normal(412.0, 60.0, (TRIALS, runs))
    hits = np.mean([covers(intervals.mean_interval(sample, confidence), 412.0) for sample in samples])
    assert hits == pytest.approx(confidence, abs=four_errors(confidence))


def paired_costs(trials, runs, correlation, difference):
    """Two costs with deviation 60 and this correlation; the second dearer by the difference."""
    generator = np.random.default_rng(102)
    weather = generator.normal(0.0, 60.0 * math.sqrt(correlation), (trials, runs))
    own = generator.normal(0.0, 60.0 * math.sqrt(1 - correlation), (2, trials, runs))
    return weather + own[0], weather + own[1] + difference


def test_paired_interval_of_correlated_runs_covers_exactly_and_is_as_narrow_as_theory():
    first, second = paired_costs(TRIALS, 20, 0.8, 85.0)
    found = [intervals.paired_interval(y, x, 0.95) for x, y in zip(first, second, strict=True)]
    hits = np.mean([covers(interval, 85.0) for interval in found])
    assert hits == pytest.approx(0.95, abs=four_errors(0.95))
    # Var(X - Y) = 2 s^2 (1 - rho). The variance of n normal values itself varies by 2 / (n - 1) of its
    # square.
    variances = [(interval.half_width / stats.t.ppf(0.975, 19)) ** 2 * interval.n for interval in found]
    truth = 2 * 60.0**2 * (1 - 0.8)
    assert np.mean(variances) == pytest.approx(truth, rel=4 * math.sqrt(2 / 19 / TRIALS))


def test_intervals_of_several_policies_hold_together():
    # Bonferroni: the chance that any of three fails is at most the sum of theirs, whatever their dependence.
    generator = np.random.default_rng(103)
    truth = (10.0, -20.0, 0.0)
    each = intervals.bonferroni(0.95, 3)
    together = 0
    for _ in range(TRIALS):
        base = generator.normal(0.0, 60.0, 15)
        others = [base + generator.normal(mean, 30.0, 15) for mean in truth]
        together += all(
            covers(intervals.paired_interval(other, base, each), mean)
            for other, mean in zip(others, truth, strict=True)
        )
    assert together / TRIALS >= 0.95 - four_errors(0.95)


@pytest.mark.parametrize("means", [(0.0, 0.0, 0.0, 0.0), (0.0, 5.0, 20.0, 100.0)])
def test_the_best_is_seldom_ruled_out_and_gaps_are_bounded(means):
    # Each of the three comparisons of the true best fails to one side with a chance of 0.05 / 3 / 2, so it is
    # ruled out with a chance of at most 0.025; the upper bounds (or zero) fail together at most as often.
    generator = np.random.default_rng(104)
    names = "abcd"
    gaps_true = {
        name: mean - min(means[:i] + means[i + 1 :])
        for i, (name, mean) in enumerate(zip(names, means, strict=True))
    }
    kept = bounded = 0
    for _ in range(TRIALS):
        weather = generator.normal(0.0, 60.0, 12)
        costs = {
            name: weather + generator.normal(mean, 30.0, 12) for name, mean in zip(names, means, strict=True)
        }
        gaps = intervals.best_gap_intervals(costs, 0.95)
        kept += gaps["a"].low <= 0
        bounded += all(gaps_true[name] <= max(0.0, gaps[name].high) for name in names)
    assert kept / TRIALS >= 0.975 - four_errors(0.975)
    assert bounded / TRIALS >= 0.975 - four_errors(0.975)


@pytest.mark.parametrize("runs", [1, 5, 40])
@pytest.mark.parametrize("share", [0.001, 0.02, 0.0722, 0.3, 0.5, 0.9])
def test_clopper_pearson_never_covers_less_than_it_says(runs, share):
    # Clopper & Pearson 1934. The coverage is a finite sum, so there is no chance in this test.
    chances = stats.binom.pmf(np.arange(runs + 1), runs, share)
    two_sided = [covers(intervals.proportion_interval(k, runs, 0.95), share) for k in range(runs + 1)]
    one_sided = [intervals.proportion_upper_bound(k, runs, 0.95) >= share for k in range(runs + 1)]
    assert chances @ two_sided >= 0.95 - 1e-12
    assert chances @ one_sided >= 0.95 - 1e-12
