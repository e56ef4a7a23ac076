"""Rain: generator, fit and years of a record."""

import numpy as np
import pytest

from sim.errors import InputError
from sim.supply import rain
from sim.supply.record import in_order, resample_years

DATES = np.arange("2011-03-01", "2014-06-01", dtype="datetime64[D]")  # complete years: 2012 (leap), 2013
YEAR = DATES.astype("datetime64[Y]").astype(int) + 1970
STEADY = rain.RainStatistics(np.full(12, 0.3), np.full(12, 0.6), np.full(12, 0.8), np.full(12, 8e-3))


def record():
    """Return a record in which every value says its date: year, then day of the year, over 1e9."""
    day = (DATES - DATES.astype("datetime64[Y]").astype("datetime64[D]")).astype(int) + 1
    return (YEAR * 1000.0 + day) / 1e9


def test_same_seed_same_rain():
    month = rain.month_index(DATES)
    first = rain.generate(STEADY, month, np.random.default_rng(3))
    np.testing.assert_array_equal(first, rain.generate(STEADY, month, np.random.default_rng(3)))
    assert not np.array_equal(first, rain.generate(STEADY, month, np.random.default_rng(4)))


def test_no_days_no_rain():
    assert rain.generate(STEADY, np.zeros(0, dtype=np.int64), np.random.default_rng(3)).size == 0


def test_month_rules_its_own_days():
    """A climate that rains every day of July and never else."""
    july = np.where(np.arange(12) == 6, 1.0, 0.0)
    stats = rain.RainStatistics(july, july, np.ones(12), np.full(12, 1e-3))
    month = rain.month_index(DATES)
    np.testing.assert_array_equal(rain.generate(stats, month, np.random.default_rng(1)) > 0.0, month == 6)


def test_fit_counts_transitions_in_the_month_of_the_second_day():
    depth_m = np.array([1.0, 0, 2, 3, 0, 0, 4]) / 1e3
    month = np.array([0, 0, 0, 0, 1, 1, 1])
    stats = rain.fit(depth_m, month, 0.0)
    assert stats.p_wet_after_wet[0] == 0.5  # wet-dry, wet-wet
    assert stats.p_wet_after_dry[0] == 1.0  # dry-wet
    assert stats.p_wet_after_wet[1] == 0.0  # wet (last of the month before)-dry
    assert stats.p_wet_after_dry[1] == 0.5  # dry-dry, dry-wet
    assert stats.p_wet_after_dry[5] == pytest.approx(2 / 3)  # never seen: the share of the whole record
    assert stats.shape[1] == 1.0  # one wet day: exponential with its own mean
    assert stats.scale_m[1] == 4e-3
    assert stats.scale_m[5] == pytest.approx(2.5e-3)  # no wet day: the mean of the record


def test_fit_keeps_the_mean_depth():
    month = rain.month_index(DATES)
    depth_m = rain.generate(STEADY, month, np.random.default_rng(9))
    stats = rain.fit(depth_m, month, 0.0)
    for m in range(12):
        amounts = depth_m[(month == m) & (depth_m > 0.0)]
        assert stats.shape[m] * stats.scale_m[m] == pytest.approx(amounts.mean(), rel=1e-12)


def test_fit_threshold_makes_drizzle_dry():
    depth_m = np.array([0.1, 2.0, 3.0, 0.1, 4.0, 5.0]) / 1e3
    stats = rain.fit(depth_m, np.zeros(6, dtype=np.int64), 1e-4)
    assert stats.p_wet_after_dry[0] == 1.0
    assert stats.p_wet_after_wet[0] == pytest.approx(2 / 3)


def test_fit_refuses_a_dry_record():
    with pytest.raises(InputError, match="0 wet days"):
        rain.fit(np.zeros(100), np.zeros(100, dtype=np.int64), 0.0)


def test_in_order_cycles_complete_years_only():
    got = in_order(record(), DATES, np.datetime64("2021-01-01"), 3 * 365, 0)
    np.testing.assert_array_equal(np.unique(got[:365] * 1e9 // 1000), [2012])
    np.testing.assert_array_equal(np.unique(got[365:730] * 1e9 // 1000), [2013])
    np.testing.assert_array_equal(got[730:], got[:365])
    assert in_order(record(), DATES, np.datetime64("2021-01-01"), 1, 1)[0] == pytest.approx(2013.001e-6)


def test_days_are_matched_by_month_and_day():
    """1 March is day 61 of the leap year 2012 and day 60 of 2013, whatever the year of the run."""
    start = np.datetime64("2021-03-01")
    assert in_order(record(), DATES, start, 1, 0)[0] == pytest.approx(2012.061e-6, rel=1e-12)
    assert in_order(record(), DATES, start, 1, 1)[0] == pytest.approx(2013.060e-6, rel=1e-12)


def test_missing_29_february_is_dry():
    leap_day = np.datetime64("2024-02-29")
    assert in_order(record(), DATES, leap_day, 1, 1)[0] == 0.0
    assert in_order(record(), DATES, leap_day, 1, 0)[0] == pytest.approx(2012.060e-6, rel=1e-12)


def test_a_gap_spoils_its_year():
    depth_m = record()
    depth_m[np.flatnonzero(np.datetime64("2012-08-01") == DATES)] = np.nan
    got = in_order(depth_m, DATES, np.datetime64("2021-01-01"), 730, 0)
    np.testing.assert_array_equal(got[:365], got[365:])
    assert got[0] == pytest.approx(2013.001e-6, rel=1e-12)


def test_resample_draws_each_year_whole():
    """Both years come up about equally often: 400 draws, binomial, four standard errors."""
    n_days = int((np.datetime64("2400-01-01") - np.datetime64("2000-01-01")).astype(int))
    got = resample_years(record(), DATES, np.datetime64("2000-01-01"), n_days, np.random.default_rng(2))
    run_year = (np.datetime64("2000-01-01") + np.arange(n_days)).astype("datetime64[Y]").astype(int) + 1970
    drawn = np.rint(got * 1e9).astype(int) // 1000
    per_year = [np.unique(drawn[(run_year == year) & (got > 0.0)]) for year in range(2000, 2400)]
    assert all(years.size == 1 for years in per_year)
    assert np.mean([years[0] == 2012 for years in per_year]) == pytest.approx(0.5, abs=4.0 * 0.5 / 20.0)


@pytest.mark.parametrize("days", [0, 300])
def test_record_without_a_complete_year_is_refused(days):
    with pytest.raises(InputError, match="no complete calendar year") as caught:
        in_order(record()[:days], DATES[:days], np.datetime64("2021-01-01"), 10, 0)
    assert "\n" not in str(caught.value)


def test_run_of_no_days():
    assert in_order(record(), DATES, np.datetime64("2021-01-01"), 0, 0).size == 0
