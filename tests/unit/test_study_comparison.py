"""Comparing policies on made-up rows whose answers are known by hand or by a reference routine."""

import math

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from sim.errors import InputError
from sim.study.compare.comparison import compare
from sim.study.compare.comparison_tables import difference_frame, summary_frame
from sim.study.statistics.intervals import skewed_interval

RUNS = 40
YEARS = 10.0


def rows_of(policy, cost, days=0.0, **more):
    """Rows of one policy; a number stands for the same value in every run."""
    runs = max(np.size(value) for value in (cost, days))
    return pd.DataFrame(
        {
            "policy": policy,
            "replication": np.arange(runs),
            "years": YEARS,
            "cost": cost,
            "water_off_h": 3.0,
            "alarm_h": 2.0,
            "days_below_target": days,
            "least_dose_j_m2": 400.0,
        }
        | more
    )


def noise(seed, size=30.0, runs=RUNS):
    return np.random.default_rng(seed).normal(0.0, size, runs)


def table(*frames):
    return pd.concat(frames, ignore_index=True)


def differences_by_policy(found):
    return {item.policy: item for item in found.differences}


class TestLimitFirst:
    def test_the_cheapest_is_out_when_its_days_are_over_the_limit(self):
        rows = table(
            rows_of("calendar", 400 + noise(1)),
            rows_of("never", 100 + noise(1), 50 + noise(2, 5.0)),
            rows_of("readings", 300 + noise(1)),
        )
        found = compare(rows, "calendar", 1.0)
        assert found.best == "readings"
        assert found.summary("never").standing == "over"
        assert "never" not in found.choice.either
        assert compare(rows, "calendar", 100.0).choice.worse == ("never",)  # within, but 50 days more

    def test_a_mean_within_the_limit_does_not_do_when_its_bound_is_not(self):
        days = np.where(np.arange(RUNS) < 2, 16.0, 0.0)  # a mean of 0.8, from two bad runs of forty
        found = compare(table(rows_of("a", 400 + noise(1), days)), "a", 1.0)
        summary = found.summary("a")
        assert summary.days_below_target.estimate == pytest.approx(0.8, abs=1e-12)
        assert summary.days_below_target.high > 1.0
        assert summary.standing == "undecided"
        assert found.best is None
        assert not found.settled

    def test_no_runs_show_a_limit_of_zero(self):
        found = compare(table(rows_of("a", 400 + noise(1))), "a", 0.0)
        assert found.best is None
        # No event of a Poisson process is seen with a chance of 2 % when -ln 0.02 are expected: so near to 0,
        # within the zone of half a day, that more runs would settle nothing.
        known = found.summary("a").by_days
        assert known.interval.high == pytest.approx(-math.log(0.02) * 30 / (RUNS * YEARS), rel=1e-9)
        assert known.state == "at the limit"

    def test_the_bound_is_the_limit_and_that_is_within(self):
        bound = compare(table(rows_of("a", 400 + noise(1))), "a", 1.0).summary("a").by_days.interval.high
        for limit, state in ((bound, "within"), (0.999 * bound, "at the limit")):
            assert compare(table(rows_of("a", 400 + noise(1))), "a", limit).summary("a").standing == state

    @pytest.mark.parametrize("limit", [-1.0, math.nan])
    def test_a_limit_is_not_negative(self, limit):
        with pytest.raises(InputError, match="wanted 0 or more a year"):
            compare(table(rows_of("a", 400 + noise(1))), "a", limit)


class TestDaysBelowTarget:
    def test_none_seen_is_bounded_by_one_unseen_run_of_thirty_days(self):
        summary = compare(table(rows_of("a", 400 + noise(1))), "a", 1.0).summary("a")
        assert summary.runs_with_days == 0
        assert summary.share_upper_bound == pytest.approx(1 - 0.05 ** (1 / 40), rel=1e-12)
        assert summary.days_below_target.estimate == summary.days_below_target.low == 0.0
        # No event of a Poisson process is seen with a chance of 2.5 % when -ln 0.025 are expected.
        assert summary.days_below_target.high == pytest.approx(-math.log(0.025) * 30 / (40 * YEARS), rel=1e-9)
        assert "no run had such a day" in summary.days_below_target.reason
        assert "a run, unseen, with 30 of them" in summary.days_below_target.reason

    def test_days_in_few_runs_are_said_to_be_few(self):
        days = np.where(np.arange(RUNS) < 19, 4.0, 0.0)
        summary = compare(table(rows_of("a", 400 + noise(1), days)), "a", 1.0).summary("a")
        assert summary.days_below_target.reason.startswith("only 19 of 40 runs had such days")
        assert summary.days_below_target.reason.endswith("with 40 of them")  # 4 a year in ten years
        assert summary.share_upper_bound > 19 / 40
        days[19] = 4.0
        summary = compare(table(rows_of("a", 400 + noise(1), days)), "a", 1.0).summary("a")
        assert summary.days_below_target.reason == ""

    def test_days_that_few_pairs_do_not_share_are_bounded_by_what_was_not_seen_too(self):
        # Nothing differs in 39 of 40 pairs: each side may hide one run of 30 days, at a quarter of 5 % each.
        days = np.full(RUNS, 2.0)
        more = np.where(np.arange(RUNS) == 3, 2.1, 2.0)
        rows = table(rows_of("a", 400 + noise(1), days), rows_of("b", 390 + noise(2), more))
        found = differences_by_policy(compare(rows, "a", 5.0))["b"].days_below_target
        assert found.estimate == pytest.approx(0.1 / RUNS, rel=1e-9)
        assert found.low < -math.log(0.0125) * 30 / (RUNS * YEARS) * -1 + found.estimate
        assert "only 1 of 40 pairs differ" in found.reason

    def test_one_bad_run_bounds_the_mean_above_what_none_would(self):
        # A single day in ten years in one run of forty is more than none at all, and so must its bound be.
        none = compare(table(rows_of("a", 400 + noise(1))), "a", 1.0).summary("a").days_below_target
        days = np.where(np.arange(RUNS) == 7, 1 / YEARS, 0.0)
        one = compare(table(rows_of("a", 400 + noise(1), days)), "a", 1.0).summary("a").days_below_target
        assert one.high > none.high > 0

    def test_common_days_are_left_to_mean_spread_and_skewness(self):
        days = np.random.default_rng(3).poisson(20.0, RUNS).astype(float)
        summary = compare(table(rows_of("a", 400 + noise(1), days)), "a", 1.0).summary("a")
        assert summary.days_below_target.method == "t without skewness"
        assert summary.runs_with_days == RUNS
        assert summary.share_upper_bound == summary.share_with_days.high == 1.0

    def test_quantiles_and_share_are_counted(self):
        days = np.where(np.arange(RUNS) < 10, 2.0, 0.0)
        summary = compare(table(rows_of("a", np.arange(RUNS) * 1.0, days)), "a", 1.0).summary("a")
        assert summary.share_with_days.estimate == 0.25
        assert (summary.days_median, summary.days_p90) == (0.0, 2.0)
        assert summary.cost_median == 19.5
        assert summary.cost_p90 == pytest.approx(35.1, abs=1e-12)  # nine tenths of the way from 0 to 39


class TestDifferences:
    def test_cost_is_the_paired_t_interval_sharing_the_error(self):
        weather = noise(1, 60.0)
        costs = {"a": 400 + weather, "b": 380 + weather + noise(2), "c": 420 + weather + noise(3)}
        found = compare(table(*(rows_of(name, cost) for name, cost in costs.items())), "a", 1.0)
        assert [item.policy for item in found.summaries] == ["a", "b", "c"]
        for name, item in differences_by_policy(found).items():
            wanted = stats.ttest_rel(costs[name], costs["a"]).confidence_interval(1 - 0.05 / 2)
            assert (item.cost.low, item.cost.high) == pytest.approx((wanted.low, wanted.high), rel=1e-9)
            assert item.cost.confidence == pytest.approx(0.975, abs=1e-12)
            r = stats.pearsonr(costs[name], costs["a"]).statistic
            assert item.cost_correlation == pytest.approx(r, rel=1e-9)

    def test_what_pairing_bought_follows_from_the_variances(self):
        x = noise(1)
        found = compare(table(rows_of("a", x), rows_of("half", 0.5 * x), rows_of("against", -x)), "a", 1.0)
        items = differences_by_policy(found)
        # var(x - x/2) = v/4 against v + v/4; var(x + x) = 4v against 2v.
        assert items["half"].cost_variance_ratio == pytest.approx(0.2, rel=1e-9)
        assert items["half"].cost_correlation == pytest.approx(1.0, rel=1e-9)
        assert items["against"].cost_variance_ratio == pytest.approx(2.0, rel=1e-9)
        assert items["against"].cost_correlation == pytest.approx(-1.0, rel=1e-9)

    def test_costs_that_do_not_vary_have_no_correlation(self):
        found = compare(table(rows_of("a", [400.0] * 5), rows_of("b", [390.0] * 5)), "a", 1.0)
        (item,) = found.differences
        assert math.isnan(item.cost_correlation)
        assert math.isnan(item.cost_variance_ratio)
        assert (item.cost.low, item.cost.high) == (-10.0, -10.0)

    def test_days_and_hours_are_paired(self):
        # One day more and two hours more in every run is a difference without spread, whatever the days; days
        # are known to a tenth.
        days = np.random.default_rng(3).poisson(2.0, RUNS).astype(float)
        found = compare(
            table(rows_of("a", noise(1), days), rows_of("b", noise(2), days + 1, water_off_h=5.0)), "a", 9
        )
        (item,) = found.differences
        assert (item.days_below_target.low, item.days_below_target.high) == pytest.approx((0.9, 1.1))
        assert (item.water_off_h.low, item.water_off_h.high) == (2.0, 2.0)


class TestCheapest:
    def test_close_costs_are_not_distinguished_and_far_ones_are(self):
        weather = noise(1, 60.0)
        rows = table(
            rows_of("far", 500 + weather + noise(2)),
            rows_of("near", 402 + weather + noise(3)),
            rows_of("nearest", 400 + weather + noise(4)),
        )
        found = compare(rows, "far", 1.0)
        assert {*filter(None, [found.best]), *found.choice.either} <= {"near", "nearest"}
        assert found.choice.lead["far"].low > 0

    def test_equal_costs_are_either_and_settled(self):
        cost = 400 + noise(1)
        found = compare(table(rows_of("a", cost), rows_of("b", cost + 1e-12)), "a", 1.0)
        assert found.best is None
        assert found.choice.either == ("a", "b")
        assert found.settled

    def test_the_only_one_within_the_limit_is_recommended(self):
        found = compare(table(rows_of("a", noise(1)), rows_of("never", noise(2), 90 + noise(3))), "a", 1.0)
        assert found.best == "a"


class TestRows:
    def test_order_of_rows_makes_no_difference(self):
        rows = table(
            rows_of("b", 400 + noise(1), np.random.default_rng(5).poisson(0.3, RUNS)),
            rows_of("a", 390 + noise(2), np.random.default_rng(6).poisson(0.3, RUNS)),
        )
        shuffled = rows.sample(frac=1.0, random_state=4)
        one, two = compare(rows, "b", 1.0), compare(shuffled, "b", 1.0)
        pd.testing.assert_frame_equal(summary_frame(one), summary_frame(two), check_exact=True)
        pd.testing.assert_frame_equal(difference_frame(one), difference_frame(two), check_exact=True)

    def test_replications_that_are_not_whole_are_left_out(self):
        whole = table(rows_of("a", np.arange(10.0)), rows_of("b", np.arange(10.0) * 2))
        part = pd.concat([whole, rows_of("a", [1e6] * 13).iloc[10:]], ignore_index=True)
        found = compare(part, "a", 1.0)
        assert (found.runs, found.runs_left_out) == (10, 3)
        assert found.summary("a").cost == compare(whole, "a", 1.0).summary("a").cost

    def test_one_run_gives_estimates_without_intervals(self):
        found = compare(table(rows_of("a", [400.0]), rows_of("b", [315.0])), "a", 1.0)
        assert found.best is None
        assert found.choice.either == ()
        (item,) = found.differences
        assert item.cost.estimate == -85.0
        assert not item.cost.known
        assert found.summary("b").standing == "undecided"
        assert math.isnan(found.summary("b").days_below_target.high)
        assert found.summary("b").share_upper_bound == pytest.approx(0.95, rel=1e-12)

    def test_least_dose_is_that_of_any_run_and_nan_when_nothing_flowed(self):
        rows = rows_of("a", [1.0, 2.0, 3.0], least_dose_j_m2=[380.0, np.nan, 120.0])
        assert compare(rows, "a", 1.0).summary("a").least_dose_j_m2 == 120.0
        rows["least_dose_j_m2"] = np.nan
        assert math.isnan(compare(rows, "a", 1.0).summary("a").least_dose_j_m2)

    def test_one_policy_by_itself_has_no_differences(self):
        found = compare(rows_of("a", 400 + noise(1)), "a", 1.0)
        assert found.differences == ()
        assert found.best == "a"
        assert len(difference_frame(found)) == 0

    @pytest.mark.parametrize(
        ("spoil", "message"),
        [
            (lambda rows: rows.drop(columns="cost"), "rows lack cost"),
            (lambda rows: rows[rows["policy"] == "b"], "reference 'a' is not among the policies: b"),
            (lambda rows: rows.iloc[:0], "reference 'a' is not among the policies: none"),
            (lambda rows: table(rows, rows.iloc[[2]]), "policy 'a', replication 2 is there twice"),
            (lambda rows: rows.assign(cost=np.nan), "cost is not a finite number"),
            (lambda rows: rows.assign(days_below_target=np.inf), "days_below_target is not a finite number"),
            (lambda rows: rows.assign(years=0.0), "years is not above 0"),
            (lambda rows: rows.iloc[[0, 4]], "no replication was finished by every policy"),
        ],
    )
    def test_rows_that_cannot_be_used_are_refused(self, spoil, message):
        rows = table(rows_of("a", [1.0, 2.0, 3.0]), rows_of("b", [1.0, 2.0, 3.0]))
        with pytest.raises(InputError, match=message):
            compare(spoil(rows), "a", 1.0)


class TestFrames:
    @pytest.fixture
    def found(self):
        weather = noise(1, 60.0)
        return compare(
            table(
                rows_of("calendar", 420 + weather),
                rows_of("readings", 335 + weather + noise(2)),
                rows_of("failure", 340 + weather + noise(3)),
                rows_of("never", 100 + weather + noise(4), 60.0 + noise(5, 4.0)),
            ),
            "calendar",
            1.0,
        )

    def test_summary_has_a_row_a_policy_with_its_standing(self, found):
        frame = summary_frame(found).set_index("policy")
        assert list(frame.index) == ["calendar", "readings", "failure", "never"]
        assert frame.loc["never", "standing"] == "over"
        assert set(frame.loc[["calendar", "failure", "readings"], "standing"]) == {"within"}
        assert frame.index[frame["recommended"]].tolist() == [found.best] * (found.best is not None)
        assert frame.loc["readings", "cost_low"] == found.summary("readings").cost.low
        assert frame.loc["readings", "cost"] == found.summary("readings").cost.estimate
        assert frame.loc["never", "days_below_target_high"] == found.summary("never").days_below_target.high
        assert frame.drop(columns="unusable_from_month").notna().all(axis=None)
        assert frame["unusable_from_month"].isna().all()  # the rows do not say

    def test_differences_have_a_row_a_rival_of_the_reference(self, found):
        frame = difference_frame(found).set_index("policy")
        assert list(frame.index) == ["readings", "failure", "never"]
        assert set(frame["reference"]) == {"calendar"}
        for name, item in differences_by_policy(found).items():
            assert frame.loc[name, "cost_high"] == item.cost.high
            assert frame.loc[name, "cost_variance_ratio"] == item.cost_variance_ratio
            assert frame.loc[name, "confidence_each"] == pytest.approx(1 - 0.05 / 3, rel=1e-12)


def test_no_bound_lies_beyond_a_year():
    days = [0.0, 0.0, 0.0, 366.0]  # so skewed that the interval by itself reaches past what a year holds
    frame = pd.DataFrame(
        {
            "policy": "nothing done", "replication": range(4), "years": 1.0, "cost": [1.0, 2.0, 3.0, 4.0],
            "water_off_h": [24.0 * day for day in days], "alarm_h": [24.0 * day for day in days],
            "days_below_target": days, "least_dose_j_m2": 1.0,
        }
    )  # fmt: skip
    summary = compare(frame, "nothing done", 5.0).summaries[0]
    assert skewed_interval(days, 0.95).high > 366.0
    assert summary.days_below_target.high == 366.0
    assert summary.alarm_h.high == summary.water_off_h.high == 24.0 * 366.0
    assert 0.0 < summary.days_below_target.low < 91.5
