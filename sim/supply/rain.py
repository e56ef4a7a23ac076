"""Daily rain: a generator (chain of wet and dry days, gamma depths, weather that holds), or a record's years.

Alone, chain and depths give years that are too much alike and dry runs that are too short. The slow state of
`sim.supply.weather` mends that; a long record is still the better input (`resample_years`, `in_order`).
"""

from dataclasses import astuple, dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares

from sim.compiled import compiled
from sim.errors import InputError
from sim.supply.gamma_law import gamma_shape
from sim.supply.rain_spread import YEAR_LENGTH_DAYS, Spread, spread_of, whole_years
from sim.supply.record import in_order, resample_years
from sim.supply.weather import MOST_MEMORY_DAYS, STEADY, USUAL, Conditioned, Weather, condition

__all__ = ["RainStatistics", "fit", "gamma_shape", "generate", "in_order", "month_index", "resample_years"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Dates = npt.NDArray[np.datetime64]
FEWEST_WET_DAYS = 3  # below this a month has no spread to fit, so its depths are taken as exponential
# Weather is fitted by what generated years show; each statistic counts by how near it is to come [-].
_NEAR = np.array(
    astuple(Spread(yearly_cv=0.05, monthly_sd_m=0.05, longest_dry_days=0.05, driest_season_m=0.1))
)
_FIT_YEARS, _FIT_SEED = 500, 1  # length of what is generated at each try; the seed only makes it the same
_USUAL_YEARS = 10.0  # as many years of record the usual weather counts for
_WIDTHS = np.array([0.7, 0.4, 0.15])  # of what gauges differ by: logarithm of memory, both spreads


@dataclass(frozen=True, eq=False)
class RainStatistics:
    """Parameters of the generator, one value a calendar month (January first).

    Attributes
    ----------
    p_wet_after_dry : numpy.ndarray
        P(wet today | dry yesterday) [-], float64[12]; the month is that of today.
    p_wet_after_wet : numpy.ndarray
        P(wet today | wet yesterday) [-], float64[12].
    shape : numpy.ndarray
        Shape of the gamma law of depth on wet days [-], float64[12].
    scale_m : numpy.ndarray
        Scale of that law [m], float64[12]; the mean wet-day depth is shape times scale.
    weather : Weather
        How wet and dry weather holds; the four tables are those over all weather.
    """

    p_wet_after_dry: Floats
    p_wet_after_wet: Floats
    shape: Floats
    scale_m: Floats
    weather: Weather = STEADY

    @cached_property
    def middle(self) -> Conditioned:
        """The four tables at the middle state of the weather."""
        return condition(self.p_wet_after_dry, self.p_wet_after_wet, self.shape, self.scale_m, self.weather)

    def p_wet(self) -> Floats:
        """Return the long-run share of wet days of each month, p01/(1 + p01 - p11).

        Returns
        -------
        numpy.ndarray
            Stationary probability of a wet day [-], float64[12].
        """
        stationary: Floats = self.p_wet_after_dry / (1.0 + self.p_wet_after_dry - self.p_wet_after_wet)
        return stationary


def month_index(dates: Dates) -> Ints:
    """Return the calendar month of each date, 0 for January.

    Parameters
    ----------
    dates : numpy.ndarray
        Dates, datetime64[D].

    Returns
    -------
    numpy.ndarray
        Month, 0 to 11, int64.

    Examples
    --------
    >>> month_index(np.array(["2012-02-29", "2012-12-01"], dtype="datetime64[D]")).tolist()
    [1, 11]
    """
    return dates.astype("datetime64[M]").astype(np.int64) % 12


@compiled
def _days(
    uniform: Floats,
    normal: Floats,
    month_index: Ints,
    logits: Floats,
    start_p: float,
    kept: float,
    wetness: float,
) -> tuple[npt.NDArray[np.bool_], Floats]:
    """Run state and chain: each day is wet if its uniform number is below the chance of yesterday and state.

    Rows of `logits` are after a dry and after a wet day; the first day is wet with its month's share.
    """
    wet = np.empty(uniform.size, np.bool_)
    state = np.empty(uniform.size)
    fresh, now = np.sqrt(1.0 - kept * kept), normal[0]
    for day in range(uniform.size):
        chance = start_p
        if day > 0:
            now = kept * now + fresh * normal[day]
            logit = logits[1 if wet[day - 1] else 0, month_index[day]] + wetness * now
            chance = 1.0 / (1.0 + np.exp(-logit))
        wet[day] = uniform[day] < chance
        state[day] = now
    return wet, state


def generate(stats: RainStatistics, month_index: Ints, rng: np.random.Generator) -> Floats:
    """Generate a daily rain series.

    Parameters
    ----------
    stats : RainStatistics
        Monthly parameters.
    month_index : numpy.ndarray
        Calendar month of each day, 0 to 11, in order.
    rng : numpy.random.Generator
        Source of randomness; one uniform, one normal and one gamma number is drawn for every day, wet or dry.

    Returns
    -------
    numpy.ndarray
        Rain depth of each day [m]; 0 on dry days.

    Notes
    -----
    First-order two-state Markov chain by month; the first day is wet with the stationary probability of its
    month. Depths of wet days are gamma numbers. A normal state that holds for some days raises or lowers both
    chances (on the logit) and the depth; chances, share of wet days and mean depth over all states are those
    of the tables (`sim.supply.weather.condition`).

    References
    ----------
    Richardson, C. W. (1981), Water Resour. Res. 17(1), 182-190 (chain); Richardson & Wright (1984), ARS-8,
    US Department of Agriculture (gamma depths); Katz, R. W. & Parlange, M. B. (1998), J. Climate 11, 591-601
    (too little spread, and a hidden state as its mend; from memory).

    Examples
    --------
    A climate where it rains 2 mm every day.

    >>> ones = np.ones(12)
    >>> steady = RainStatistics(ones, ones, 1e12 * ones, 2e-15 * ones)
    >>> generate(steady, np.array([0, 0, 1]), np.random.default_rng(1)).round(6).tolist()
    [0.002, 0.002, 0.002]
    """
    if month_index.size == 0:
        return np.zeros(0)
    middle, weather = stats.middle, stats.weather
    uniform, normal = rng.random(month_index.size), rng.standard_normal(month_index.size)
    depth_m: Floats = rng.standard_gamma(middle.shape[month_index]) * middle.scale_m[month_index]
    wet, state = _days(
        uniform,
        normal,
        month_index,
        np.array([middle.after_dry, middle.after_wet]),
        float(stats.p_wet()[month_index[0]]),
        weather.kept,
        weather.wetness_spread,
    )
    return np.where(wet, depth_m * np.exp(weather.depth_spread * state), 0.0)


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
        distances from where it began over what gauges differ by, those times the square root of 10/years.

    Notes
    -----
    Method of simulated moments; every try generates 500 years from the same random numbers.

    References
    ----------
    McFadden, D. (1989), Econometrica 57, 995-1026.
    """
    begin = stats.weather
    start = np.array([np.log(begin.memory_days), begin.wetness_spread, begin.depth_spread])
    pull = np.sqrt(_USUAL_YEARS / years) / _WIDTHS
    month = np.tile(month_index(np.datetime64("2001-01-01") + np.arange(YEAR_LENGTH_DAYS)), _FIT_YEARS)
    least = 1e-6  # what is measured in logarithms has to be above zero
    log_wanted = np.log(np.maximum(astuple(wanted), least))

    def misses(tried: Floats) -> Floats:
        weather = Weather(float(np.exp(tried[0])), float(tried[1]), float(tried[2]))
        depth_m = generate(replace(stats, weather=weather), month, np.random.default_rng(_FIT_SEED))
        found = spread_of(depth_m.reshape(_FIT_YEARS, -1), month.reshape(_FIT_YEARS, -1))
        off = (np.log(np.maximum(astuple(found), least)) - log_wanted) / _NEAR
        return np.concatenate([off, pull * (tried - start)])

    limits = ([0.0, 0.0, 0.0], [np.log(MOST_MEMORY_DAYS), 3.0, 1.0])
    found = least_squares(
        misses, start, bounds=limits, diff_step=[0.1, 0.1, 0.1], x_scale=_WIDTHS, max_nfev=12
    )
    return Weather(float(np.exp(found.x[0])), float(found.x[1]), float(found.x[2]))
