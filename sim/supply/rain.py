"""Daily rain: fitted to a record, generated, or years of a record; the record is the better input."""

from dataclasses import astuple, replace

import numpy as np
import numpy.typing as npt
from scipy.special import digamma, polygamma

from sim.errors import InputError
from sim.supply.generator import RainStatistics, generate, generated_spread, month_index
from sim.supply.rain_spread import Spread, spread_of, whole_years
from sim.supply.record import in_order, resample_years
from sim.supply.weather import MOST_MEMORY_DAYS, USUAL, Weather

__all__ = [
    "RainStatistics",
    "fit",
    "fit_weather",
    "gamma_shape",
    "generate",
    "generated_spread",
    "in_order",
    "month_index",
    "resample_years",
]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
FEWEST_WET_DAYS = 3  # below this a month has no spread to fit, so its depths are taken as exponential
# Weather is fitted by what generated years show; each statistic counts by how near it is to come [-]. The
# wettest day is not fitted: weather hardly moves it.
_NEAR = np.array(
    astuple(
        Spread(
            yearly_cv=0.05,
            monthly_sd_m=0.05,
            longest_dry_days=0.05,
            driest_season_m=0.1,
            wettest_day_m=np.inf,
        )
    )
)
_USUAL_YEARS = 10.0  # as many years of record the usual weather counts for
_WIDTHS = np.array([0.7, 0.4, 0.15])  # of what places differ by: logarithm of memory, both spreads


def gamma_shape(log_excess: float) -> float:
    """Return the maximum-likelihood shape of a gamma law.

    Parameters
    ----------
    log_excess : float
        Logarithm of the mean less the mean of the logarithms [-], > 0.

    Returns
    -------
    float
        Shape a, the root of ln a - digamma(a) = log_excess [-].

    Notes
    -----
    Newton steps on 1/a from 1/(2 log_excess), the root for a large shape. Four reach the last digits from any
    start between 1e-8 and 100; the rest are spare.

    References
    ----------
    Thom, H. C. S. (1958), Mon. Weather Rev. 86, 117-122 (the likelihood equation); Minka, T. (2002),
    Estimating a gamma distribution (step).

    Examples
    --------
    The exponential law: ln 1 - digamma(1) is Euler's constant.

    >>> gamma_shape(0.5772156649)
    1.000000
    """
    shape = 0.5 / log_excess
    for _ in range(8):
        residual = np.log(shape) - digamma(shape) - log_excess
        shape = 1.0 / (1.0 / shape + residual / (shape - shape**2 * polygamma(1, shape)))
    return float(shape)


def _share_wet(wet_today: npt.NDArray[np.bool_], otherwise: float) -> float:
    """Return the share of wet days among these, or the given share when there are none."""
    return float(wet_today.mean()) if wet_today.size else otherwise


def fit(depth_m: Floats, month_index: Ints, wet_threshold_m: float) -> RainStatistics:
    """Fit the generator to a daily record.

    Parameters
    ----------
    depth_m : numpy.ndarray
        Recorded daily depth [m], without gaps, in order.
    month_index : numpy.ndarray
        Calendar month of each day, 0 to 11.
    wet_threshold_m : float
        A day is wet when its depth is above this [m], >= 0.

    Returns
    -------
    RainStatistics
        Counted transition shares; gamma laws by maximum likelihood; weather by simulated moments.

    Raises
    ------
    InputError
        When the record has fewer than three wet days.

    Notes
    -----
    A transition belongs to the month of its second day. A month in which a transition was never seen takes
    the share of the whole record. A month with fewer than three wet days, or whose wet days are all alike,
    takes an exponential law with its own mean (the mean of the record when it has no wet day).

    Weather is that with which generated years have the spread of the record's whole years (`fit_weather`);
    a record with fewer than two takes the usual one.

    References
    ----------
    Thom, H. C. S. (1958), Mon. Weather Rev. 86, 117-122.
    """
    wet = depth_m > wet_threshold_m
    if np.count_nonzero(wet) < FEWEST_WET_DAYS:
        raise InputError(
            f"rain record has {np.count_nonzero(wet)} wet days; at least {FEWEST_WET_DAYS} are needed"
        )
    before, today, month = wet[:-1], wet[1:], month_index[1:]
    after_dry, after_wet = _share_wet(today[~before], 1.0), _share_wet(today[before], 0.0)
    p01, p11, shape, scale_m = (np.empty(12) for _ in range(4))
    for m in range(12):
        p01[m] = _share_wet(today[~before & (month == m)], after_dry)
        p11[m] = _share_wet(today[before & (month == m)], after_wet)
        amounts = depth_m[wet & (month_index == m)]
        mean = float(amounts.mean()) if amounts.size else float(depth_m[wet].mean())
        log_excess = float(np.log(mean) - np.log(amounts).mean()) if amounts.size else 0.0
        fits = amounts.size >= FEWEST_WET_DAYS and log_excess > 1e-9
        shape[m] = gamma_shape(log_excess) if fits else 1.0
        scale_m[m] = mean / shape[m]
    years = whole_years(depth_m, month_index)
    stats = RainStatistics(p01, p11, shape, scale_m, USUAL)
    if years[0].shape[0] < 2:
        return stats
    return replace(stats, weather=fit_weather(stats, spread_of(*years), years[0].shape[0]))


def fit_weather(stats: RainStatistics, wanted: Spread, years: int) -> Weather:
    """Return the weather with which generated years have this spread.

    Parameters
    ----------
    stats : RainStatistics
        Monthly parameters; their weather is where the search begins and is drawn to.
    wanted : Spread
        Spread of the record.
    years : int
        Whole years it comes from, >= 2.

    Returns
    -------
    Weather
        That of the least sum of squares: relative misses of the four statistics over 5, 5, 5 and 10 %, and
        distances from where it began over what places differ by, those times the square root of 10/years.

    Notes
    -----
    Method of simulated moments; every try generates 1,000 years from the same random numbers.

    References
    ----------
    McFadden, D. (1989), Econometrica 57, 995-1026.
    """
    begin = stats.weather
    from scipy.optimize import least_squares  # noqa: PLC0415  a tenth of a worker; most have no record to fit

    start = np.array([np.log(begin.memory_days), begin.wetness_spread, begin.depth_spread])
    pull = np.sqrt(_USUAL_YEARS / years) / _WIDTHS
    least = 1e-6  # what is measured in logarithms has to be above zero
    log_wanted = np.log(np.maximum(astuple(wanted), least))

    def misses(tried: Floats) -> Floats:
        weather = Weather(float(np.exp(tried[0])), float(tried[1]), float(tried[2]))
        found = generated_spread(replace(stats, weather=weather))
        off = (np.log(np.maximum(astuple(found), least)) - log_wanted) / _NEAR
        return np.concatenate([off, pull * (tried - start)])

    limits = ([0.0, 0.0, 0.0], [np.log(MOST_MEMORY_DAYS), 3.0, 1.0])
    found = least_squares(
        misses, start, bounds=limits, diff_step=[0.03, 0.03, 0.03], x_scale=_WIDTHS, max_nfev=12
    )
    return Weather(float(np.exp(found.x[0])), float(found.x[1]), float(found.x[2]))
