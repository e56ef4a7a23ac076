"""How unlike its years and months a daily series is, and how long and how dry its dry times are."""

from dataclasses import astuple, dataclass

import numpy as np
import numpy.typing as npt

from sim.compiled import compiled

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
YEAR_LENGTH_DAYS = 365  # the last day of a leap year is left out
SEASON_DAYS = 90
WET_DAY_M = 1e-3  # a day with less breaks no dry run: the wet day of the WMO


@dataclass(frozen=True)
class Spread:
    """Statistics of whole calendar years."""

    yearly_cv: float  # standard deviation of the totals of years over their mean [-]
    # standard deviation of the totals of each calendar month over the years, mean of the twelve [m]
    monthly_sd_m: float
    # longest run of days with less than 1 mm up to a day of the year, mean over the years [d]
    longest_dry_days: float
    # rain of the driest 90 days in a row that end in the year, mean over the years [m]
    driest_season_m: float
    wettest_day_m: float  # rain of the wettest day of a year, mean over the years [m]


def whole_years(depth_m: Floats, month_index: Ints) -> tuple[Floats, Ints]:
    """Return the whole calendar years of a daily series, each cut to 365 days.

    Parameters
    ----------
    depth_m : numpy.ndarray
        Depth of each day [m], in order.
    month_index : numpy.ndarray
        Calendar month of each day, 0 to 11.

    Returns
    -------
    tuple of numpy.ndarray
        Depth [m] and month of each day, both (years, 365); no rows when no year is whole.
    """
    january = np.flatnonzero((month_index == 0) & (np.roll(month_index, 1) != 0))
    if month_index.size and month_index[0] == 0 and 0 not in january:
        january = np.concatenate(([0], january))
    ends = np.append(january, month_index.size)[1:]
    starts = january[ends - january >= YEAR_LENGTH_DAYS] if january.size else january
    days = starts[:, None] + np.arange(YEAR_LENGTH_DAYS)
    return depth_m[days], month_index[days]


def spread_of(depth_m: Floats, month: Ints) -> Spread:
    """Return the spread of whole years.

    Parameters
    ----------
    depth_m, month : numpy.ndarray
        Depth [m] and month of each day, (years, 365), as `whole_years` gives them; two years or more.

    Returns
    -------
    Spread
        Standard deviations with n - 1.

    Notes
    -----
    Runs and seasons go on from one row to the next: where winters are dry the longest lie over New Year.

    Examples
    --------
    A year of 2 mm a day, then one of 4: the driest 90 days of the second begin in the first, with 182 mm.

    >>> month = np.tile(np.minimum(np.arange(365) // 30, 11), (2, 1))
    >>> years = np.array([np.full(365, 2e-3), np.full(365, 4e-3)])
    >>> found = spread_of(years, month)
    >>> round(found.yearly_cv, 3), found.longest_dry_days, round(found.driest_season_m, 3)
    (0.471, 0.0, 0.181)
    """
    return _spread(*_yearly(depth_m, month))


def spread_errors(depth_m: Floats, month: Ints) -> Spread:
    """Return the standard error of each statistic of `spread_of`, leaving out one year after the other.

    Parameters
    ----------
    depth_m, month : numpy.ndarray
        As for `spread_of`; three years or more.

    Returns
    -------
    Spread
        Standard errors, in the units of the statistics.

    References
    ----------
    Efron, B. (1982), The jackknife, the bootstrap and other resampling plans, SIAM, ch. 3.
    """
    yearly = _yearly(depth_m, month)
    n = depth_m.shape[0]
    without = np.array(
        [astuple(_spread(*(each[rows] for each in yearly))) for rows in ~np.eye(n, dtype=bool)]
    )
    return Spread(*np.sqrt((n - 1) * without.var(axis=0)).tolist())


def _yearly(depth_m: Floats, month: Ints) -> tuple[Floats, Floats, Floats, Floats]:
    """Return of each year: totals of its months (n, 12), longest dry run, driest season, wettest day."""
    monthly_m = np.stack([np.where(month == one, depth_m, 0.0).sum(axis=1) for one in range(12)], axis=1)
    run_m = np.cumsum(np.concatenate(([0.0], depth_m.ravel())))
    season_m = np.full(depth_m.size, np.inf)
    season_m[SEASON_DAYS - 1 :] = run_m[SEASON_DAYS:] - run_m[:-SEASON_DAYS]
    dry_days = _dry_so_far(depth_m.ravel(), WET_DAY_M).reshape(depth_m.shape).max(axis=1)
    return monthly_m, dry_days, season_m.reshape(depth_m.shape).min(axis=1), depth_m.max(axis=1)


def _spread(monthly_m: Floats, dry_days: Floats, season_m: Floats, wettest_m: Floats) -> Spread:
    total_m = monthly_m.sum(axis=1)
    return Spread(
        yearly_cv=float(total_m.std(ddof=1) / total_m.mean()),
        monthly_sd_m=float(monthly_m.std(axis=0, ddof=1).mean()),
        longest_dry_days=float(dry_days.mean()),
        driest_season_m=float(season_m.mean()),
        wettest_day_m=float(wettest_m.mean()),
    )


@compiled
def _dry_so_far(depth_m: Floats, wet_day_m: float) -> Floats:
    """Return how many days in a row, this one with them, have been dry [d]."""
    length = np.zeros(depth_m.size)
    for day in range(depth_m.size):
        if depth_m[day] < wet_day_m:
            length[day] = 1.0 + (length[day - 1] if day > 0 else 0.0)
    return length
