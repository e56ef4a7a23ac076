"""Rain: generator, fit and years of a record."""

from itertools import pairwise

import numpy as np
import pytest
from scipy.special import digamma

from sim.errors import InputError
from sim.supply import rain
from sim.supply.record import in_order, resample_years, years_of

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
    """Both years come up about equally often: 400 draws; that years follow each other makes them evener."""
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


@pytest.mark.parametrize("shape", [0.05, 0.3, 1.0, 2.5, 40.0, 1e3])
def test_gamma_shape_is_the_root_of_the_likelihood_equation(shape):
    """ln a - digamma(a) from scipy, turned round."""
    assert rain.gamma_shape(float(np.log(shape) - digamma(shape))) == pytest.approx(shape, rel=1e-7)


def test_a_run_begins_with_the_stationary_chance_of_its_first_month():
    """January always wet, other months never: a run from January to March begins wet, one from March dry."""
    january = np.where(np.arange(12) == 0, 1.0, 0.0)
    stats = rain.RainStatistics(january, january, np.ones(12), np.full(12, 1e-3))
    rng = np.random.default_rng(5)
    assert rain.generate(stats, np.array([0, 1, 2]), rng)[0] > 0.0
    assert rain.generate(stats, np.array([2, 1, 0]), rng)[0] == 0.0


def test_the_second_day_knows_the_first():
    """Wet and dry by turns: p01 = 1, p11 = 0."""
    stats = rain.RainStatistics(np.ones(12), np.zeros(12), np.ones(12), np.full(12, 1e-3))
    for seed in range(8):
        wet = rain.generate(stats, np.zeros(6, dtype=np.int64), np.random.default_rng(seed)) > 0.0
        assert np.all(wet[1:] != wet[:-1])


def test_three_wet_days_are_enough_and_two_are_not():
    depth_m = np.array([1.0, 2.0, 4.0, 0.0]) / 1e3
    month = np.zeros(4, dtype=np.int64)
    stats = rain.fit(depth_m, month, 0.0)
    # ln(7/3) - ln(8)/3 is ln a - digamma(a) at the fitted shape
    excess = np.log(7.0 / 3.0) - np.log(8.0) / 3.0
    shape = stats.shape[0]
    assert np.log(shape) - digamma(shape) == pytest.approx(excess, rel=1e-9)
    assert shape * stats.scale_m[0] == pytest.approx(7e-3 / 3.0, rel=1e-12)
    with pytest.raises(InputError, match="2 wet days; at least 3"):
        rain.fit(depth_m[1:3], month[:2], 0.0)


def test_fewer_wet_days_in_a_month_are_exponential():
    depth_m = np.array([1.0, 4.0, 0.0, 1.0, 2.0, 4.0]) / 1e3
    stats = rain.fit(depth_m, np.array([3, 3, 3, 4, 4, 4]), 0.0)
    assert stats.shape[3] == 1.0 and stats.scale_m[3] == pytest.approx(2.5e-3)
    assert stats.shape[4] > 1.0


def test_wet_days_all_alike_are_exponential():
    stats = rain.fit(np.full(5, 3e-3), np.zeros(5, dtype=np.int64), 0.0)
    assert stats.shape[0] == 1.0 and stats.scale_m[0] == pytest.approx(3e-3)
    assert stats.shape.shape == stats.scale_m.shape == (12,)


def test_a_transition_that_no_day_shows():
    """Always wet: after a dry day, which never came, the next is taken as wet."""
    always = rain.fit(np.full(4, 1e-3), np.zeros(4, dtype=np.int64), 0.0)
    assert always.p_wet_after_dry[0] == 1.0 and always.p_wet_after_wet[0] == 1.0


def calendar_of(first, last):
    return np.arange(f"{first}-01-01", f"{last + 1}-01-01", dtype="datetime64[D]")


@pytest.mark.parametrize(
    ("year", "leap"), [(1900, False), (2000, True), (2001, False), (2004, True), (2100, False)]
)
def test_leap_years_are_those_of_the_calendar(year, leap):
    """Gregorian calendar: 1900 and 2100 have no 29 February, 2000 has. Depth says the day of the year."""
    dates = calendar_of(year, year)
    assert dates.size == 365 + leap
    got = in_order(np.arange(1.0, dates.size + 1.0), dates, dates[0], dates.size, 0)
    np.testing.assert_array_equal(got, np.arange(1.0, dates.size + 1.0))
    leap_run = in_order(np.arange(1.0, dates.size + 1.0), dates, np.datetime64("2004-01-01"), 366, 0)
    assert leap_run[59] == (60.0 if leap else 0.0)  # 29 February
    assert leap_run[60] == (61.0 if leap else 60.0)  # 1 March


def test_a_leap_day_missing_from_a_leap_year_spoils_it():
    dates = calendar_of(2000, 2001)
    depth_m = np.arange(dates.size) + 1.0
    depth_m[59] = np.nan
    np.testing.assert_array_equal(in_order(depth_m, dates, dates[366], 2, 0), [367.0, 368.0])


@pytest.mark.parametrize(
    ("start", "n_days", "years"),
    [
        ("2021-01-01", 0, 1),
        ("2021-01-01", 365, 1),
        ("2021-01-01", 366, 2),
        ("2021-12-31", 1, 1),
        ("2021-12-31", 2, 2),
    ],
)
def test_two_numbers_are_drawn_for_each_calendar_year_of_a_run(start, n_days, years):
    """Two generators, one of them drawing by hand, stand at the same place afterwards."""
    rng, by_hand = np.random.default_rng(4), np.random.default_rng(4)
    resample_years(record(), DATES, np.datetime64(start), n_days, rng)
    by_hand.random(2 * years)
    assert rng.bit_generator.state == by_hand.bit_generator.state


def ring(ends_dry, years, seed=11):
    """Return years drawn from a record of 365-day years 2001 on, as rows; some end dry."""
    n = len(ends_dry)
    dates = np.arange("2001-01-01", f"{2001 + n}-01-01", dtype="datetime64[D]")
    number = dates.astype("datetime64[Y]").astype(int) - 31
    depth_m = 0.01 * (number + 1.0)
    last = np.flatnonzero(np.diff(number, append=n))
    depth_m[last[np.array(ends_dry)]] = 0.0
    days = int((np.datetime64(f"{2001 + years}-01-01") - np.datetime64("2001-01-01")).astype(int))
    got = resample_years(depth_m, dates, dates[0], days, np.random.default_rng(seed))
    starts = (
        np.arange("2001", str(2001 + years), dtype="datetime64[Y]").astype("datetime64[D]") - dates[0]
    ).astype(int)
    return np.rint(got[starts] / 0.01).astype(int) - 1


def test_two_new_years_of_three_are_those_of_the_record():
    """A join that was drawn may also happen to be the next year: 2/3 + 1/3 x 1/8; binomial, four errors."""
    order = ring([False] * 8, 3000)
    follows = (np.diff(order) % 8 == 1).mean()
    expected = 2 / 3 + 1 / 3 / 8
    assert follows == pytest.approx(expected, abs=4.0 * np.sqrt(expected * (1.0 - expected) / 2999))


def test_each_year_comes_up_as_often_as_any_other():
    """Chi-square of 8 rows; draws that follow each other are counted a third, as one block of three."""
    counts = np.bincount(ring([True, False, False, True, False, False, True, False], 6000), minlength=8)
    assert ((counts - 750.0) ** 2 / 750.0).sum() / 3.0 < 24.3  # 0.1 % point of 7 degrees of freedom


def test_dry_is_joined_to_dry_and_wet_to_wet():
    """A join that is not of the record goes to a year whose own eve was as this one is."""
    ends_dry = np.array([True, False, False, True, False, False, True, False])
    order = ring(ends_dry, 3000)
    joins = [(a, b) for a, b in pairwise(order) if b != (a + 1) % 8]
    assert len(joins) > 500
    assert all(ends_dry[a] == ends_dry[(b - 1) % 8] for a, b in joins)


def test_a_single_year_comes_again():
    assert set(ring([True], 50)) == {0}


def test_years_are_complete_or_named_as_dropped():
    depth_m = record()
    depth_m[np.flatnonzero(np.datetime64("2012-08-01") == DATES)] = np.nan
    found = years_of(depth_m, DATES)
    assert found.complete.tolist() == [2013]
    assert found.dropped.tolist() == [2011, 2012, 2014]
    assert found.depth_m.shape == (1, 366)
