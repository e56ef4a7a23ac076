"""Stopping: the widest difference is known well enough, and has been for the look-ahead of Hoad et al."""

import math

import pandas as pd
import pytest
from scipy import stats

from sim.errors import InputError
from sim.study.compare.comparison import compare
from sim.study.statistics.stopped import STOPPED, stopped_interval
from sim.study.statistics.stopping import enough, look_ahead


def swinging(size, runs, mean=0.0):
    """Values mean + size, mean - size, ...: at an even n their deviation is size sqrt(n / (n - 1))."""
    return [mean + size * (-1) ** run for run in range(runs)]


def half_width(size, runs, confidence):
    return stats.t.ppf((1 + confidence) / 2, runs - 1) * size / math.sqrt(runs - 1)


@pytest.mark.parametrize(
    ("runs", "further"), [(1, 5), (40, 5), (100, 5), (120, 6), (198, 9), (240, 12), (1000, 50)]
)
def test_look_ahead_is_five_then_five_percent(runs, further):
    # Hoad, Robinson & Davies 2010: kLimit max(n, 100) / 100 with kLimit = 5.
    assert look_ahead(runs) == further


def test_stops_once_the_widest_difference_held_for_five_further_runs():
    # t(29, 0.975) = 2.045 (t table), so swings of 100 give 2.045 x 100 / sqrt(29) = 38.0 after 30 runs.
    values = swinging(100.0, 60, mean=-85.0)
    wanted = half_width(100.0, 30, 0.95)
    assert wanted == pytest.approx(37.98, abs=0.02)
    first = next(n for n in range(20, 61) if _all_within(values, n, wanted))
    assert first > 20
    for runs in range(10, first + 5):
        assert enough({"readings": values[:runs]}, wanted, 0.95)[0] is False
    assert enough({"readings": values[: first + 5]}, wanted, 0.95)[0] is True


def _all_within(values, first, wanted):
    """Whether the reference interval is within what is wanted after this run and the next five."""
    return all(_reference_half(values[:n]) <= wanted for n in range(first, first + 6))


def _reference_half(values):
    bounds = stats.ttest_1samp(values, 0.0).confidence_interval(0.95)
    return (bounds.high - bounds.low) / 2


def test_how_long_it_must_hold_goes_by_the_run_at_which_it_was_met():
    # Met at some 116 runs, of which a twentieth is 5 whole runs; of the runs five later it would be 6.
    values = swinging(100.0, 140)
    wanted = half_width(100.0, 116, 0.95)
    first = next(n for n in range(100, 130) if _all_within(values, n, wanted))
    assert 5 * first // 100 == 5 and 5 * (first + 10) // 100 == 6
    assert "held for 3 of 5 further runs" in enough({"a": values[: first + 3]}, wanted, 0.95)[1]
    assert enough({"a": values[: first + 5]}, wanted, 0.95)[0] is True


def test_a_width_that_is_just_what_is_wanted_is_enough():
    values = swinging(100.0, 26)
    widest = max(stopped_interval(values[:n], [0.0] * n, 0.95).half_width for n in range(20, 27))
    assert enough({"a": values}, widest, 0.95)[0] is True


def test_early_luck_does_not_stop_a_study():
    lucky = [5.0, 5.1] * 11  # a half-width of 0.02 after 22 runs
    assert enough({"a": lucky}, 1.0, 0.95)[0] is False  # held for 2 of 5 further runs
    upset = [*lucky, 400.0, 5.0]
    done, reason = enough({"a": upset}, 1.0, 0.95)
    assert done is False
    assert "Not yet" in reason
    assert enough({"a": [*lucky, 5.0, 5.1, 5.0]}, 1.0, 0.95)[0] is True


def test_an_early_stretch_that_was_lost_again_does_not_count():
    # 26 quiet runs, two upsets, then quiet until the width is met again: it must hold five runs anew. The
    # upsets lie evenly, so that there is no skewness and the width is Student's.
    values = [5.0, 5.1] * 13 + [45.05, -34.95] + [5.0, 5.1] * 200
    met = next(n for n in range(30, len(values)) if _reference_half(values[:n]) <= 3.0)
    assert met > 34
    assert enough({"a": values[:26]}, 3.0, 0.95)[0] is True
    assert enough({"a": values[:met]}, 3.0, 0.95)[0] is False
    assert enough({"a": values[: met + 4]}, 3.0, 0.95)[0] is False
    assert enough({"a": values[: met + 5]}, 3.0, 0.95)[0] is True


def test_every_policy_counts_and_the_widest_is_named():
    quiet, wild = swinging(1.0, 40), swinging(100.0, 40)
    done, reason = enough({"quiet": quiet, "wild": wild}, 10.0, 0.95, "USD")
    assert done is False
    assert "of 'wild'," in reason
    assert "(± 10 wanted)" in reason
    # Two differences share the error: at 97.5 % after 40 runs 2.331 x 100 / sqrt(39) = 37.3, by hand.
    assert half_width(100.0, 40, 0.975) == pytest.approx(37.3, abs=0.05)
    assert "± 37 USD a year after 40 runs" in reason
    assert enough({"quiet": quiet, "wild": wild}, 40.0, 0.95)[0] is False  # after 35 runs it was 40.1
    assert enough({"quiet": quiet, "wild": wild}, 42.0, 0.95)[0] is True


def test_reason_foretells_the_runs_from_the_square_of_the_width():
    done, reason = enough({"a": swinging(100.0, 20)}, half_width(100.0, 20, 0.95) / 3, 0.95)
    assert done is False
    assert "about 180 runs" in reason or "about 181 runs" in reason  # 20 x 3 x 3, rounded up


def test_only_runs_all_policies_finished_count():
    assert enough({"a": swinging(1.0, 40), "b": swinging(1.0, 8)}, 10.0, 0.95) == (
        False,
        "After 8 runs: too few to judge, at least 20 are wanted.",
    )


def test_no_difference_at_all_is_enough_after_the_look_ahead():
    assert enough({"same": [0.0] * 24}, 25.0, 0.95)[0] is False
    assert enough({"same": [0.0] * 25}, 25.0, 0.95)[0] is True


def test_without_a_rival_there_is_nothing_to_wait_for():
    done, reason = enough({}, 25.0, 0.95)
    assert done is True
    assert "no other policy" in reason


@pytest.mark.parametrize("wanted", [0.0, -1.0, math.nan])
def test_a_half_width_of_nothing_is_refused(wanted):
    with pytest.raises(InputError, match="wanted above 0"):
        enough({"a": [1.0] * 20}, wanted, 0.95)


def test_the_interval_of_a_stopped_study_is_the_wider_of_two_on_either_side():
    even, uneven = swinging(10.0, 20, mean=3.0), [0.0] * 16 + [1.0, 2.0, 4.0, 40.0]
    nothing = [0.0] * 20
    found = stopped_interval(even, nothing, 0.95)  # no skewness: Student's
    assert (found.low, found.high) == pytest.approx(stats.ttest_1samp(even, 0.0).confidence_interval(0.95))
    found = stopped_interval(uneven, nothing, 0.95)
    student = stats.ttest_1samp(uneven, 0.0).confidence_interval(0.95)
    assert found.low == pytest.approx(student.low)
    assert found.high > student.high + 0.1 * (student.high - student.low)
    turned = stopped_interval(nothing, uneven, 0.95)
    assert (turned.low, turned.high) == pytest.approx((-found.high, -found.low))
    assert math.isnan(stopped_interval([1.0], [0.0], 0.95).low)  # one run: none can be given


def test_a_stopped_comparison_says_by_what_its_differences_are_bounded():
    runs = 25
    rows = pd.DataFrame(
        {
            "policy": ["a"] * runs + ["b"] * runs,
            "replication": [*range(runs)] * 2,
            "years": 1.0,
            "cost": [400.0] * runs + [400.0] * (runs - 2) + [410.0, 500.0],
            "water_off_h": 0.0,
            "alarm_h": 0.0,
            "days_below_target": 0.0,
            "least_dose_j_m2": 500.0,
        }
    )
    fixed, stopped = (compare(rows, "a", 40.0, stopped=how).differences[0].cost for how in (False, True))
    assert stopped.method == STOPPED != fixed.method
    assert stopped.low == fixed.low and stopped.high > fixed.high
