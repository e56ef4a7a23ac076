"""Intervals mean what they say: coverage on toys whose truth is known, and where it is known to fall short.

Coverage over independent trials is binomial. With p the coverage that theory gives, four standard errors are
4 sqrt(p (1 - p) / trials). Seeds are fixed, what is expected never comes from the code under test.
"""

import itertools
import math

import numpy as np
import pytest
from scipy import stats

from sim.study import intervals

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


# Efron & Tibshirani 1993, table 2.1: days nine mice lived without treatment (data from memory).
MICE = np.array([52.0, 104.0, 146.0, 10.0, 51.0, 30.0, 40.0, 27.0, 46.0])


def exact_resampling_of_the_mean(sample):
    """All means of resamples in order with their chances: multisets weighed by the multinomial."""
    n = sample.size
    means, chances = [], []
    for chosen in itertools.combinations_with_replacement(range(n), n):
        counts = np.bincount(chosen, minlength=n)
        means.append(sample @ counts / n)
        chances.append(math.factorial(n) / math.prod(math.factorial(c) for c in counts) / n**n)
    order = np.argsort(means)
    return np.array(means)[order], np.array(chances)[order]


def test_bootstrap_bounds_are_those_of_the_definition_over_every_resample():
    # Efron 1987: the bounds are the quantiles at Phi(z0 + (z0 + z) / (1 - a (z0 + z))) of the resampling
    # distribution. All 24,310 different resamples of nine values are weighed here, so z0, a and the
    # quantile have no error; the code draws B resamples, which puts sqrt(q (1 - q) / B) on the quantile
    # and, through the count below the mean (error 0.5 / sqrt(B)), an error on z0.
    means, chances = exact_resampling_of_the_mean(MICE)
    assert chances.sum() == pytest.approx(1.0, abs=1e-9)
    below = (
        chances[means < MICE.mean() - 1e-9].sum() + 0.5 * chances[np.abs(means - MICE.mean()) <= 1e-9].sum()
    )
    deviations = MICE - MICE.mean()
    a = (deviations**3).sum() / (6 * (deviations**2).sum() ** 1.5)
    z0 = stats.norm.ppf(below)
    found = intervals.bootstrap_interval(MICE, 0.95, 11)
    for bound, tail in ((found.low, 0.025), (found.high, 0.975)):
        z = z0 + stats.norm.ppf(tail)
        level = stats.norm.cdf(z0 + z / (1 - a * z))
        slope = stats.norm.pdf(stats.norm.ppf(level)) * (1 + 1 / (1 - a * z) ** 2) / stats.norm.pdf(z0)
        error = math.hypot(math.sqrt(level * (1 - level)), 0.5 * slope) / math.sqrt(intervals.RESAMPLES)
        assert chances[means < bound - 1e-9].sum() - 4 * error <= level
        assert level <= chances[means <= bound + 1e-9].sum() + 4 * error


def test_bootstrap_of_normal_runs_falls_short_as_theory_says(monkeypatch):
    # Resampled means have the deviation s sqrt((n - 1) / n) / sqrt(n) and, for normal values, nearly normal
    # tails: they cover like |t(n - 1)| <= z sqrt((n - 1) / n), 92.9 % of the time for 20 runs and not 95 %.
    # The acceleration is zero but for its own noise; that is neglected, as it is small beside four standard
    # errors.
    monkeypatch.setattr(intervals, "RESAMPLES", 999)
    runs = 20
    theory = 1 - 2 * stats.t.sf(stats.norm.ppf(0.975) * math.sqrt((runs - 1) / runs), runs - 1)
    assert theory == pytest.approx(0.929, abs=5e-4)
    samples = np.random.default_rng(105).normal(3.0, 1.0, (TRIALS, runs))
    hits = np.mean([covers(intervals.bootstrap_interval(sample, 0.95, 1), 3.0) for sample in samples])
    assert hits == pytest.approx(theory, abs=four_errors(theory))


def test_bootstrap_of_rare_days_cannot_cover_more_than_the_chance_of_seeing_any(monkeypatch):
    # Days in a run with a chance of 5 %: of 20 runs none has any with a chance of 0.95^20 = 36 %. Then
    # there is nothing to resample, the interval has no width and misses the mean above zero; it says that
    # it saw no spread.
    monkeypatch.setattr(intervals, "RESAMPLES", 999)
    generator = np.random.default_rng(106)
    runs, chance, trials = 20, 0.05, 500
    days = (generator.random((trials, runs)) < chance) * generator.integers(1, 8, (trials, runs))
    found = [intervals.bootstrap_interval(sample, 0.95, 1) for sample in days]
    blind = [interval for interval in found if "no spread was seen" in interval.reason]
    nothing = (1 - chance) ** runs
    assert len(blind) / trials == pytest.approx(nothing, abs=four_errors(nothing, trials))
    assert all(interval.low == interval.high == 0.0 for interval in blind)
    hits = np.mean([covers(interval, chance * 4.0) for interval in found])  # days 1 to 7 have the mean 4
    assert hits <= 1 - nothing + four_errors(nothing, trials)
