"""Whole years of a rain record, drawn again or replayed, so that real dry spells and real spread stay in."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sim.errors import InputError
from sim.supply.rain_spread import WET_DAY_M

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Dates = npt.NDArray[np.datetime64]
_LEAP_SLOT = 59  # 29 February
_NEW_YEARS_KEPT = 2 / 3  # share of New Years after which the next year of the record follows


@dataclass(frozen=True, eq=False)
class Years:
    """The calendar years of a record."""

    complete: Ints  # complete ones, in order, int64[n]
    dropped: Ints  # those of which a day is missing, in order, int64
    # depth of each day of the complete ones [m], (n, 366); 29 February is 0 where there was none
    depth_m: Floats


def _years_and_slots(dates: Dates) -> tuple[Ints, Ints]:
    """Return the calendar year of each date and its slot, the day number it would have in a leap year."""
    days = dates.astype("datetime64[D]")
    year_start = days.astype("datetime64[Y]")
    number = (days - year_start.astype("datetime64[D]")).astype(np.int64)
    year = year_start.astype(np.int64) + 1970
    leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
    return year, number + (~leap & (number >= _LEAP_SLOT))


def years_of(record_depth_m: Floats, record_dates: Dates) -> Years:
    """Return the complete calendar years of a record and name the others.

    Parameters
    ----------
    record_depth_m : numpy.ndarray
        Recorded daily depth [m]; nan where missing.
    record_dates : numpy.ndarray
        Date of each value, datetime64[D]; each date at most once.

    Returns
    -------
    Years
        There may be no complete one.
    """
    known = ~np.isnan(record_depth_m)
    year, slot = _years_and_slots(record_dates)
    years = np.unique(year)
    table = np.full((years.size, 366), np.nan)
    table[np.searchsorted(years, year[known]), slot[known]] = record_depth_m[known]
    common = (years % 4 != 0) | ((years % 100 == 0) & (years % 400 != 0))
    table[common, _LEAP_SLOT] = 0.0
    whole = ~np.isnan(table).any(axis=1)
    return Years(years[whole], years[~whole], table[whole])


def _complete_years(record_depth_m: Floats, record_dates: Dates) -> Floats:
    """Return the complete calendar years of a record, one a row of 366 slots; refuse a record without."""
    complete = years_of(record_depth_m, record_dates).depth_m
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
    """Draw whole calendar years of a record, with replacement, in runs of years that followed each other.

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
    Only complete years take part; each comes up as often as any other. After two New Years of three the next
    year of the record follows (the first after the last), so that dry spells go on; else a year is drawn of
    those before which it was dry, or wet, as it now is: dry is joined to dry. Days are matched by month
    and day; 29 February is dry when the drawn year has none, and its rain is left out when the run's year has
    none.

    References
    ----------
    Politis, D. N. & Romano, J. P. (1994), J. Am. Stat. Assoc. 89, 1303-1313 (blocks of random length, the
    record bent into a ring).
    """
    table = _complete_years(record_depth_m, record_dates)
    order = _blocks(table[:, -1] < WET_DAY_M, _years_of_run(start_date, n_days), rng)
    return _replay(table, order, start_date, n_days)


def _blocks(ends_dry: npt.NDArray[np.bool_], years: int, rng: np.random.Generator) -> Ints:
    """Return rows in runs that follow each other; a new run begins as the last one ended, dry or wet."""
    n = ends_dry.size
    follows = rng.random(years) < _NEW_YEARS_KEPT
    chance = rng.random(years)
    after = {dry: (np.flatnonzero(ends_dry == dry) + 1) % n for dry in (True, False)}
    order = np.empty(years, dtype=np.int64)
    for k in range(years):
        if k == 0:
            order[k] = int(chance[k] * n)
        elif follows[k]:
            order[k] = (order[k - 1] + 1) % n
        else:
            begin = after[bool(ends_dry[order[k - 1]])]
            order[k] = begin[int(chance[k] * begin.size)]
    return order


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
