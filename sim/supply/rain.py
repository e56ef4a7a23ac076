"""Daily rain: a generator (two-state Markov chain for wet and dry days, gamma depths), or years of a record.

Known weakness: such a chain shows too little spread from year to year and dry runs that are too short, so a
sizing run should prefer recorded years (`resample_years`, `in_order`).
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import digamma, polygamma

from sim.compiled import compiled
from sim.errors import InputError
from sim.supply.record import in_order, resample_years

__all__ = ["RainStatistics", "fit", "gamma_shape", "generate", "in_order", "month_index", "resample_years"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Dates = npt.NDArray[np.datetime64]
FEWEST_WET_DAYS = 3  # below this a month has no spread to fit, so its depths are taken as exponential


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
    """

    p_wet_after_dry: Floats
    p_wet_after_wet: Floats
    shape: Floats
    scale_m: Floats

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
def _wet_days(uniform: Floats, after_dry: Floats, after_wet: Floats, start_p: float) -> npt.NDArray[np.bool_]:
    """Run the chain: each day is wet if its uniform number is below the chance that yesterday left it."""
    wet = np.empty(uniform.size, np.bool_)
    chance = start_p
    for day in range(uniform.size):
        if day > 0:
            chance = after_wet[day] if wet[day - 1] else after_dry[day]
        wet[day] = uniform[day] < chance
    return wet


def generate(stats: RainStatistics, month_index: Ints, rng: np.random.Generator) -> Floats:
    """Generate a daily rain series.

    Parameters
    ----------
    stats : RainStatistics
        Monthly parameters.
    month_index : numpy.ndarray
        Calendar month of each day, 0 to 11, in order.
    rng : numpy.random.Generator
        Source of randomness; one uniform and one gamma number is drawn for every day, wet or dry.

    Returns
    -------
    numpy.ndarray
        Rain depth of each day [m]; 0 on dry days.

    Notes
    -----
    First-order two-state Markov chain by month; the first day is wet with the stationary probability of its
    month. Depths of wet days are independent gamma numbers.

    References
    ----------
    Richardson, C. W. (1981), Water Resour. Res. 17(1), 182-190 (chain); Richardson & Wright (1984), ARS-8,
    US Department of Agriculture (gamma depths).

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
    uniform = rng.random(month_index.size)
    depth_m: Floats = rng.standard_gamma(stats.shape[month_index]) * stats.scale_m[month_index]
    wet = _wet_days(
        uniform,
        stats.p_wet_after_dry[month_index],
        stats.p_wet_after_wet[month_index],
        float(stats.p_wet()[month_index[0]]),
    )
    return np.where(wet, depth_m, 0.0)


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
        Counted transition shares; gamma laws by maximum likelihood.

    Raises
    ------
    InputError
        When the record has fewer than three wet days.

    Notes
    -----
    A transition belongs to the month of its second day. A month in which a transition was never seen takes
    the share of the whole record. A month with fewer than three wet days, or whose wet days are all alike,
    takes an exponential law with its own mean (the mean of the record when it has no wet day).

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
    return RainStatistics(p01, p11, shape, scale_m)
