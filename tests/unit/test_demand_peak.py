"""Peak flow: limits, and small houses by hand."""

from dataclasses import replace

import numpy as np
import pytest

from sim.demand import peak
from sim.demand.end_use import EndUse
from sim.demand.profile import profile
from sim.units import GPM_M3_S

FLAT, MORNING = profile("flat"), profile("shower")
SHOWER = EndUse(
    "shower", "time", 0.7, 0.0, 480.0, 2 * GPM_M3_S, 5e5, 0.1, 0.3, 1.0, 0.0, 900.0, MORNING, FLAT
)
TOILET = EndUse("toilet", "volume", 5.0, 0.01, 0.0, 2e-4, 4e5, 0.1, 0.2, 1.0, 0.0, 600.0, FLAT, FLAT)


def test_busy_hours_follow_the_profile():
    """0.7 showers x 3 people x 480 s: 1008 s a day; a tenth in an hour of share 0.1 is 100.8 s of 3600 s."""
    busy = peak.busy_by_hour(SHOWER, 3.0)
    np.testing.assert_allclose(busy, MORNING * 1008.0 / 3600.0, rtol=1e-13)
    assert peak.busy_by_hour(TOILET, 3.0).sum() * 3600.0 == pytest.approx(15 * 50.0, rel=1e-13)


def test_nothing_open_is_no_flow():
    flow, count = np.array([2.0, 3.0]), np.array([1, 2])
    assert peak.zero_truncated_quantile(flow, count, np.zeros(2), 0.99, 0.05) == 0.0
    assert peak.zero_truncated_quantile(flow, np.zeros(2, int), np.full(2, 0.5), 0.99, 0.05) == 0.0


def test_everything_open_is_all_flow():
    flow, count = np.array([2.0, 3.0]), np.array([1, 2])
    assert peak.zero_truncated_quantile(flow, count, np.ones(2), 0.99, 0.05) == pytest.approx(8.0, rel=1e-12)


def test_quantile_is_the_least_flow_that_suffices():
    """One fixture of 2 (p 0.5) and one of 3 (p 0.5): 2, 3 and 5 with a third each while anything is open."""
    flow, count, p = np.array([2.0, 3.0]), np.array([1, 1]), np.array([0.5, 0.5])
    for quantile, wanted in ((0.0, 2.0), (1 / 3, 2.0), (0.34, 3.0), (2 / 3, 3.0), (0.67, 5.0), (1.0, 5.0)):
        got = peak.zero_truncated_quantile(flow, count, p, quantile, 0.5)
        assert got == (pytest.approx(wanted) if quantile else pytest.approx(0.5))


def test_expected_peak_of_a_shower_alone_is_one_shower():
    assert peak.expected_peak_m3_s([SHOWER], [1], 3.0) == pytest.approx(2 * GPM_M3_S, rel=1e-12)


def test_expected_peak_is_taken_in_the_busiest_hour():
    """By hand: hour 6, shower share 0.118/1.001; two kinds, one fixture each, four states."""
    shower_p = 0.118 / 1.001 * 1008.0 / 3600.0
    toilet_p = 15 * 50.0 / 86400.0
    both = shower_p * toilet_p / (1 - (1 - shower_p) * (1 - toilet_p))
    toilet_flow = round(2e-4 / peak.GRID_M3_S) * peak.GRID_M3_S
    all_open = peak.expected_peak_m3_s([SHOWER, TOILET], [1, 1], 3.0, 1.0 - both + 1e-6)
    assert all_open == pytest.approx(2 * GPM_M3_S + toilet_flow, rel=1e-9)
    larger = peak.expected_peak_m3_s([SHOWER, TOILET], [1, 1], 3.0, 1.0 - both - 1e-6)
    assert larger == pytest.approx(max(2 * GPM_M3_S, toilet_flow), rel=1e-9)


def test_a_fixture_cannot_be_busy_more_than_always():
    assert peak.expected_peak_m3_s([SHOWER], [1], 500.0) == pytest.approx(2 * GPM_M3_S, rel=1e-12)


def test_two_fixtures_share_the_busy_time():
    """p each: both open with p^2 of 2p - p^2, so one alone suffices in a share 2(1 - p)/(2 - p)."""
    p = 0.118 / 1.001 * 1008.0 / 3600.0 / 2.0
    alone = 2.0 * (1.0 - p) / (2.0 - p)
    for quantile, open_at_once in ((alone - 1e-6, 1), (alone + 1e-6, 2)):
        got = peak.expected_peak_m3_s([SHOWER], [2], 3.0, quantile)
        assert got == pytest.approx(open_at_once * 2 * GPM_M3_S, rel=1e-12)


def test_a_flow_of_one_step_counts():
    """One fixture of one step, one of two, each open half the time: 1, 2 and 3 steps with a third each."""
    flow, count, p = np.array([0.5, 1.0]), np.array([1, 1]), np.array([0.5, 0.5])
    for quantile, wanted in ((0.3, 0.5), (0.4, 1.0), (0.6, 1.0), (0.7, 1.5)):
        got = peak.zero_truncated_quantile(flow, count, p, quantile, 0.5)
        assert got == pytest.approx(wanted, rel=1e-12)


def test_kinds_without_a_count_are_refused():
    with pytest.raises(ValueError, match="argument"):
        peak.zero_truncated_quantile(np.array([2.0, 3.0]), np.array([1]), np.array([0.5]), 0.99, 0.5)


def test_a_profile_counts_by_its_shares_and_not_by_its_sum():
    twice = replace(SHOWER, weekday_profile=2.0 * MORNING)
    np.testing.assert_allclose(peak.busy_by_hour(twice, 3.0), peak.busy_by_hour(SHOWER, 3.0), rtol=1e-13)
