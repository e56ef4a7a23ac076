"""Whole years of a rain record, drawn again or replayed, so that real dry spells and real spread stay in."""

import numpy as np
import numpy.typing as npt

from sim.errors import InputError

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Dates = npt.NDArray[np.datetime64]
_LEAP_SLOT = 59  # 29 February


def _years_and_slots(dates: Dates) -> tuple[Ints, Ints]:
    """Return the calendar year of each date and its slot, the day number it would have in a leap year."""
    days = dates.astype("datetime64[D]")
    year_start = days.astype("datetime64[Y]")
    number = (days - year_start.astype("datetime64[D]")).astype(np.int64)
    year = year_start.astype(np.int64) + 1970
    leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
    return year, number + (~leap & (number >= _LEAP_SLOT))


def _complete_years(record_depth_m: Floats, record_dates: Dates) -> Floats:
    """Return the complete calendar years of a record, one a row of 366 slots (a missing 29 February 0)."""
    known = ~np.isnan(record_depth_m)
    year, slot = _years_and_slots(record_dates[known])
    years = np.unique(year)
    table = np.full((years.size, 366), np.nan)
    table[np.searchsorted(years, year), slot] = record_depth_m[known]
    common = (years % 4 != 0) | ((years % 100 == 0) & (years % 400 != 0))
    table[common, _LEAP_SLOT] = 0.0
    complete: Floats = table[~np.isnan(table).any(axis=1)]
    if complete.shape[0] == 0:
        raise InputError(
            f"rain record of {record_depth_m.size} days has no complete calendar year (January to December)"
        )
    return complete


def _replay(table: Floats, order: Ints, start_date: np.datetime64, n_days: int) -> Floats:
    """Lay out the chosen rows of the table along the calendar, one row for each calendar year of the run."""
    year, slot = _years_and_slots(start_date.astype("datetime64[D]") + np.arange(n_days))
    depth_m: Floats = table[order[year - year[:1]], slot]
    return depth_m


def _years_of_run(start_date: np.datetime64, n_days: int) -> int:
    """Return how many calendar years a run touches."""
    last = start_date.astype("datetime64[D]") + max(n_days - 1, 0)
    return int((last.astype("datetime64[Y]") - start_date.astype("datetime64[Y]")).astype(np.int64)) + 1


def resample_years(
    record_depth_m: Floats,
    record_dates: Dates,
    start_date: np.datetime64,
    n_days: int,
    rng: np.random.Generator,
) -> Floats:
    """Draw whole calendar years of a record, with replacement, for every calendar year of a run.

    Parameters
    ----------
    record_depth_m : numpy.ndarray
        Recorded daily depth [m]; nan where missing.
    record_dates : numpy.ndarray
        Date of each value, datetime64[D]; each date at most once.
    start_date : numpy.datetime64
        First day of the run.
    n_days : int
        Length of the run [d], >= 0.
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    numpy.ndarray
        Rain depth of each day of the run [m].

    Raises
    ------
    InputError
        When the record has no complete calendar year.

    Notes
    -----
    Only complete years take part. Days are matched by month and day; 29 February is dry when the drawn year
    has none, and its rain is left out when the run's year has none. Dry spells across New Year are broken.
    """
    table = _complete_years(record_depth_m, record_dates)
    order = rng.integers(0, table.shape[0], size=_years_of_run(start_date, n_days))
    return _replay(table, order, start_date, n_days)


def in_order(
    record_depth_m: Floats,
    record_dates: Dates,
    start_date: np.datetime64,
    n_days: int,
    first_year_offset: int,
) -> Floats:
    """Replay the complete calendar years of a record in their order, starting again after the last.

    Parameters
    ----------
    record_depth_m : numpy.ndarray
        Recorded daily depth [m]; nan where missing.
    record_dates : numpy.ndarray
        Date of each value, datetime64[D]; each date at most once.
    start_date : numpy.datetime64
        First day of the run.
    n_days : int
        Length of the run [d], >= 0.
    first_year_offset : int
        How many complete years of the record to skip before the first one used.

    Returns
    -------
    numpy.ndarray
        Rain depth of each day of the run [m].

    Raises
    ------
    InputError
        When the record has no complete calendar year.

    Notes
    -----
    Days are matched as in `resample_years`.
    """
    table = _complete_years(record_depth_m, record_dates)
    order = (first_year_offset + np.arange(_years_of_run(start_date, n_days))) % table.shape[0]
    return _replay(table, order, start_date, n_days)
