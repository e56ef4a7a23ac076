"""Spread of years: by hand on small tables, and its errors where a formula gives them."""

import numpy as np
import pytest

from sim.supply.rain_spread import spread_errors, spread_of, whole_years

MONTH = np.repeat(np.arange(12), [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])


def years_of(*rows):
    return np.array(rows), np.tile(MONTH, (len(rows), 1))


def wet(*days, depth_m=5e-3, else_m=0.0):
    """Return a year with rain on these days, counted from 0."""
    row = np.full(365, else_m)
    row[list(days)] = depth_m
    return row


def test_totals_of_years_and_months():
    """Years of 365 and 730 mm; a month of 31 days differs by 31 mm, sd 31/sqrt 2; 365/12 days on average."""
    found = spread_of(*years_of(np.full(365, 1e-3), np.full(365, 2e-3)))
    assert found.yearly_cv == pytest.approx(365.0 / np.sqrt(2.0) / 547.5)
    assert found.monthly_sd_m == pytest.approx(1e-3 * 365.0 / 12.0 / np.sqrt(2.0))
    assert found.wettest_day_m == pytest.approx(1.5e-3)
    assert found.driest_season_m == pytest.approx(1e-3 * (90.0 + 91.0) / 2.0)  # the second to 1 January


def test_a_dry_run_goes_on_over_new_year():
    """Dry on the last 10 days of one year and the first 20 of the next: 10 and 30 days."""
    first = wet(*range(355))
    second = wet(*range(20, 365))
    found = spread_of(*years_of(first, second))
    assert found.longest_dry_days == (10 + 30) / 2


def test_less_than_a_millimetre_breaks_no_run_and_a_millimetre_does():
    almost = spread_of(*years_of(*[wet(*range(0, 365, 2), depth_m=0.999e-3)] * 2))
    enough = spread_of(*years_of(*[wet(*range(0, 365, 2), depth_m=1e-3)] * 2))
    assert almost.longest_dry_days == (365 + 730) / 2
    assert enough.longest_dry_days == 1.0


def test_the_driest_season_is_ninety_days_that_end_in_the_year():
    """1 mm a day but for 60 dry days up to the end of the first year and 40 at the head of the second."""
    first, second = np.full(365, 1e-3), np.full(365, 1e-3)
    first[305:] = 0.0
    second[:40] = 0.0
    found = spread_of(*years_of(first, second))
    assert found.driest_season_m == pytest.approx(1e-3 * (30 + 0) / 2)


def test_whole_years_begin_in_january_and_have_all_their_days():
    dates = np.arange(
        "2011-12-30", "2015-12-31", dtype="datetime64[D]"
    )  # 2012 is a leap year, 2015 lacks a day
    month = dates.astype("datetime64[M]").astype(int) % 12
    depth_m, found = whole_years(np.arange(dates.size) * 1.0, month)
    assert depth_m.shape == found.shape == (3, 365)
    assert depth_m[:, 0].tolist() == [2.0, 368.0, 733.0]  # 366 days of 2012 between the first two
    assert np.all(found[:, 0] == 0) and found[0, -1] == 11


def test_a_series_that_begins_on_new_year_and_one_that_never_meets_it():
    assert whole_years(np.zeros(365), MONTH)[0].shape == (1, 365)
    assert whole_years(np.zeros(730), np.tile(MONTH, 2))[0].shape == (2, 365)
    assert whole_years(np.zeros(500), np.full(500, 5))[0].shape == (0, 365)
    assert whole_years(np.zeros(0), np.zeros(0, dtype=np.int64))[0].shape == (0, 365)
    assert whole_years(np.zeros(300), MONTH[:300])[0].shape == (0, 365)


def test_error_of_a_mean_is_that_of_the_textbook():
    """Jackknife of a mean: sd/sqrt n; of a standard deviation of normal totals: about sd/sqrt(2(n-1))."""
    rng = np.random.default_rng(3)
    depth_m = np.maximum(rng.normal(3e-3, 1e-3, (400, 365)) + rng.normal(0.0, 3e-4, (400, 1)), 0.0)
    years = years_of(*depth_m)
    found, error = spread_of(*years), spread_errors(*years)
    assert error.wettest_day_m == pytest.approx(depth_m.max(axis=1).std(ddof=1) / 20.0, rel=1e-9)
    # the error of a jackknife error of 400 values is some 1/sqrt(800) times a few
    assert error.yearly_cv == pytest.approx(found.yearly_cv / np.sqrt(2 * 399), rel=0.25)
