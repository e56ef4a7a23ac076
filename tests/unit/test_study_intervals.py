"""Intervals against printed examples, definitions and reference routines; what they say when they cannot."""

import math

import numpy as np
import pytest
from scipy import stats

from sim.errors import InputError
from sim.study.statistics import intervals

# Student 1908, "The probable error of a mean": hours of sleep gained with two drugs (from memory).
SLEEP_FIRST = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0]
SLEEP_SECOND = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4]


def test_paired_interval_gives_the_printed_bounds_of_the_sleep_data():
    # The paired t interval of these data is printed in many texts as 0.7001 to 2.4599 (from memory).
    found = intervals.paired_interval(SLEEP_SECOND, SLEEP_FIRST, 0.95)
    assert found.estimate == pytest.approx(1.58, abs=1e-12)
    assert found.low == pytest.approx(0.7001, abs=5e-5)
    assert found.high == pytest.approx(2.4599, abs=5e-5)


@pytest.mark.parametrize("confidence", [0.5, 0.9, 0.95, 0.999])
def test_t_intervals_agree_with_the_reference_tests(confidence):
    one = stats.ttest_1samp(SLEEP_FIRST, 0.0).confidence_interval(confidence)
    found = intervals.mean_interval(SLEEP_FIRST, confidence)
    assert (found.low, found.high) == pytest.approx((one.low, one.high), rel=1e-12)
    two = stats.ttest_rel(SLEEP_SECOND, SLEEP_FIRST).confidence_interval(confidence)
    paired = intervals.paired_interval(SLEEP_SECOND, SLEEP_FIRST, confidence)
    assert (paired.low, paired.high) == pytest.approx((two.low, two.high), rel=1e-12)
    assert paired.half_width == pytest.approx((two.high - two.low) / 2, rel=1e-12)


def binomial_up_to(k, n, p):
    """Sum of the binomial terms 0 to k, written out."""
    return math.fsum(math.comb(n, i) * p**i * (1 - p) ** (n - i) for i in range(k + 1))


def test_clopper_pearson_solves_the_equations_of_the_handbook():
    # NIST/SEMATECH e-Handbook 7.2.4 (small samples): 4 defective of 20, 90 %: the sum of the terms 0 to 4 is
    # 0.05 at the upper limit, that of the terms 0 to 3 is 0.95 at the lower. Its limits, 0.0714 and 0.4010
    # (from memory), come from a spreadsheet's goal seek, which is not good to more than these four decimals.
    found = intervals.proportion_interval(4, 20, 0.90)
    assert binomial_up_to(4, 20, found.high) == pytest.approx(0.05, rel=1e-9)
    assert binomial_up_to(3, 20, found.low) == pytest.approx(0.95, rel=1e-9)
    assert found.low == pytest.approx(0.0714, abs=5e-5)
    assert found.high == pytest.approx(0.4010, abs=5e-5)


@pytest.mark.parametrize(("k", "n"), [(0, 1), (1, 1), (0, 40), (1, 40), (20, 40), (39, 40), (40, 40)])
def test_clopper_pearson_agrees_with_the_reference_test(k, n):
    wanted = stats.binomtest(k, n).proportion_ci(0.95, method="exact")
    found = intervals.proportion_interval(k, n, 0.95)
    assert (found.low, found.high) == pytest.approx((wanted.low, wanted.high), abs=1e-12)
    one_sided = stats.binomtest(k, n, alternative="less").proportion_ci(0.95, method="exact")
    assert intervals.proportion_upper_bound(k, n, 0.95) == pytest.approx(one_sided.high, abs=1e-12)


def test_none_seen_in_forty_runs_bounds_the_share_at_seven_percent():
    assert round(100 * intervals.upper_bound_when_none_seen(40), 1) == 7.2


@pytest.mark.parametrize("n", [1, 2, 10, 30, 100, 1000, 100_000])
def test_bound_when_none_seen_is_where_seeing_none_is_just_as_likely_as_the_tail(n):
    bound = intervals.upper_bound_when_none_seen(n, 0.95)
    assert stats.binom.pmf(0, n, bound) == pytest.approx(0.05, rel=1e-9)


@pytest.mark.parametrize(("n", "exact", "rule"), [(10, 26, 30), (20, 14, 15), (30, 10, 10), (100, 3, 3)])
def test_bound_when_none_seen_follows_the_rule_of_three(n, exact, rule):
    # Hanley & Lippman-Hand 1983, JAMA 249:1743, table of percentages exact against 3/n (from memory).
    percent = 100 * intervals.upper_bound_when_none_seen(n, 0.95)
    assert percent == pytest.approx(exact, abs=0.5)
    assert percent < 300 / n  # -ln 0.05 = 2.996 < 3, so the rule never says too little
    assert round(300 / n) == rule


def test_bonferroni_shares_the_error():
    assert intervals.bonferroni(0.95, 10) == pytest.approx(0.995, abs=1e-15)
    assert intervals.bonferroni(0.95, 1) == intervals.bonferroni(0.95, 0) == pytest.approx(0.95, abs=1e-15)


def cubic(t, skewness, n):
    """Hall's cubic of a standardised mean, written out."""
    return t + skewness * t**2 / 3 + skewness**2 * t**3 / 27 + skewness / (6 * n)


@pytest.mark.parametrize(
    "sample", [[-1.0, 0.0, 0.5, 1.0, 1.2, 8.0], [-9.0, -10.0, -9.5, -17.0, -10.3], SLEEP_FIRST]
)
def test_skewed_bounds_are_where_the_cubic_has_the_quantiles_of_student(sample):
    # Hall 1992: bounds mu solve cubic((mean - mu) / s) = +/- t / sqrt(n); skewness by the reference routine.
    found = intervals.skewed_interval(sample, 0.9)
    n, mean, deviation = len(sample), np.mean(sample), np.std(sample, ddof=1)
    reach = stats.t.ppf(0.95, n - 1) / math.sqrt(n)
    skewness = stats.skew(sample)
    assert cubic((mean - found.low) / deviation, skewness, n) == pytest.approx(reach, rel=1e-9)
    assert cubic((mean - found.high) / deviation, skewness, n) == pytest.approx(-reach, rel=1e-9)
    assert (found.high - mean > mean - found.low) == (skewness > 0)


def test_skewed_interval_of_values_not_below_zero_is_not_below_zero():
    sample = [0.0] * 11 + [0.1, 40.0]
    assert intervals.mean_interval(sample, 0.95).low < 0
    assert intervals.skewed_interval(sample, 0.95).low == 0.0
    assert intervals.paired_skewed_interval([-1.0, *sample], [0.0, *([0.0] * 13)], 0.95).low < 0


def test_skewed_interval_of_very_small_values_scales():
    # Third powers of 1e-120 are below the least float.
    tiny = intervals.skewed_interval([0.0, 1e-120, 2e-120, 5e-120] * 5, 0.95)
    plain = intervals.skewed_interval([0.0, 1.0, 2.0, 5.0] * 5, 0.95)
    assert tiny.high == pytest.approx(1e-120 * plain.high, rel=1e-9)


def test_skewed_interval_of_few_runs_says_so():
    assert "3 runs are too few" in intervals.skewed_interval([0.0, 1.0, 4.0], 0.95).reason
    assert intervals.skewed_interval(SLEEP_FIRST, 0.95).reason == ""


@pytest.mark.parametrize(
    "interval",
    [
        lambda x: intervals.mean_interval(x, 0.95),
        lambda x: intervals.paired_interval(x, np.zeros(len(x)), 0.95),
        lambda x: intervals.skewed_interval(x, 0.95),
        lambda x: intervals.paired_skewed_interval(x, np.zeros(len(x)), 0.95),
    ],
)
class TestWithoutSpread:
    def test_one_run_has_no_interval_and_a_reason(self, interval):
        found = interval([85.0])
        assert found.estimate == 85.0
        assert math.isnan(found.low)
        assert math.isnan(found.high)
        assert math.isnan(found.half_width)
        assert not found.known
        assert found.reason == "one run: no interval can be given"

    def test_equal_runs_have_no_width_and_a_reason(self, interval):
        found = interval([0.1] * 7)
        assert (found.low, found.estimate, found.high) == (0.1, 0.1, 0.1)
        assert "all 7 values are equal" in found.reason
        assert found.known

    def test_what_is_no_sample_is_refused(self, interval):
        with pytest.raises(InputError, match="at least one value"):
            interval([])
        with pytest.raises(InputError, match="finite values are wanted, got nan"):
            interval([1.0, math.nan])
        with pytest.raises(InputError, match="finite values are wanted, got inf"):
            interval([math.inf, 1.0])
        with pytest.raises(InputError, match="got inf"):  # the first that is none
            interval([1.0, math.inf, math.nan])


def test_differences_take_rounding_for_nothing_and_keep_all_else():
    # 0.1 + 0.2 and 0.3 differ by one last place, 2e-16 of their size.
    assert intervals.differences([0.1 + 0.2, 5.0, 1e-9], [0.3, 5.0 - 1e-9, 0.0]).tolist() == pytest.approx(
        [0.0, 1e-9, 1e-9], rel=1e-6
    )
    assert intervals.differences([0.1 + 0.2], [0.3])[0] == 0.0


def test_pairs_must_be_pairs():
    with pytest.raises(InputError, match="got 2 and 3 values"):
        intervals.paired_interval([1.0, 2.0], [1.0, 2.0, 3.0], 0.95)


@pytest.mark.parametrize("confidence", [0.0, 1.0, -0.1, 95.0, math.nan])
def test_confidence_is_a_fraction(confidence):
    for call in (
        lambda: intervals.mean_interval(SLEEP_FIRST, confidence),
        lambda: intervals.skewed_interval(SLEEP_FIRST, confidence),
        lambda: intervals.proportion_interval(1, 2, confidence),
        lambda: intervals.proportion_upper_bound(1, 2, confidence),
        lambda: intervals.upper_bound_when_none_seen(2, confidence),
        lambda: intervals.bonferroni(confidence, 2),
    ):
        with pytest.raises(InputError, match="wanted a fraction between 0 and 1"):
            call()


@pytest.mark.parametrize(("k", "n"), [(-1, 3), (4, 3), (0, 0)])
def test_a_share_is_some_of_all(k, n):
    with pytest.raises(InputError, match="is not a share"):
        intervals.proportion_interval(k, n, 0.95)
    with pytest.raises(InputError, match="is not a share"):
        intervals.proportion_upper_bound(k, n, 0.95)


def test_gap_to_the_best_takes_the_greatest_bounds_over_the_rivals():
    values = {"a": [1.0, 2.0, 4.0, 3.0], "b": [2.0, 2.5, 4.5, 5.0], "c": [9.0, 9.5, 12.5, 12.0]}
    gaps = intervals.best_gap_intervals(values, 0.95)
    for name, others in (("a", "bc"), ("b", "ac"), ("c", "ab")):
        pairs = [
            stats.ttest_rel(values[name], values[other]).confidence_interval(1 - 0.05 / 2) for other in others
        ]
        assert gaps[name].low == pytest.approx(max(pair.low for pair in pairs), rel=1e-12)
        assert gaps[name].high == pytest.approx(max(pair.high for pair in pairs), rel=1e-12)
    assert gaps["a"].estimate == pytest.approx(-1.0, abs=1e-12)  # 2.5 less 3.5, by hand
    assert gaps["c"].estimate == pytest.approx(8.25, abs=1e-12)  # 10.75 less 2.5, by hand
    assert gaps["a"].low <= 0 < gaps["c"].low


def test_gap_to_the_best_needs_rivals_and_runs():
    assert intervals.best_gap_intervals({"a": [1.0, 2.0]}, 0.95) == {}
    gap = intervals.best_gap_intervals({"a": [1.0], "b": [2.0]}, 0.95)["b"]
    assert gap.estimate == 1.0
    assert not gap.known
    assert gap.reason == "one run: no interval can be given"
