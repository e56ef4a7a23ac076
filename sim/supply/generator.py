"""Daily rain from a generator: a chain of wet and dry days, gamma depths, weather that holds.

Alone, chain and depths give years that are too much alike and dry runs that are too short; the slow state of
`sim.supply.weather` mends that.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from sim.compiled import compiled
from sim.supply.rain_spread import YEAR_LENGTH_DAYS, Spread, spread_of
from sim.supply.weather import STEADY, Conditioned, Weather, condition

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Dates = npt.NDArray[np.datetime64]
_SPREAD_YEARS, _SPREAD_SEED = 1000, 1  # of `generated_spread`; the seed only makes it the same each time


@dataclass(frozen=True, eq=False)
class RainStatistics:
    """Parameters of the generator, one value a calendar month (January first)."""

    p_wet_after_dry: Floats  # P(wet today | dry yesterday) [-], float64[12]; the month is that of today
    p_wet_after_wet: Floats  # P(wet today | wet yesterday) [-], float64[12]
    shape: Floats  # shape of the gamma law of depth on wet days [-], float64[12]
    scale_m: Floats  # scale of that law [m], float64[12]; the mean wet-day depth is shape times scale
    weather: Weather = STEADY  # how wet and dry weather holds; the four tables are those over all weather

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
        Source of randomness; one uniform, one gamma and one normal number is drawn for every day, wet or dry.

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
    uniform = rng.random(month_index.size)
    depth_m: Floats = rng.standard_gamma(stats.shape[month_index]) ** middle.power[month_index]
    depth_m *= middle.scale_m[month_index]
    normal = rng.standard_normal(
        month_index.size
    )  # last: without spread the days are those of the chain alone
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


def generated_spread(stats: RainStatistics) -> Spread:
    """Return the spread of 1,000 generated years, the same whenever it is asked.

    Parameters
    ----------
    stats : RainStatistics
        Monthly parameters and weather.

    Returns
    -------
    Spread
        With an error of chance of some 2 % (one standard error of the yearly spread).
    """
    days = np.datetime64("2001-01-01") + np.arange(YEAR_LENGTH_DAYS)
    month = np.tile(month_index(days), (_SPREAD_YEARS, 1))
    depth_m = generate(stats, month.ravel(), np.random.default_rng(_SPREAD_SEED))
    return spread_of(depth_m.reshape(month.shape), month)
