"""Weather that holds: a slow state behind the days makes wet and dry weeks, and so wet and dry years."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import digamma, expit, gammaln, logit

Floats = npt.NDArray[np.float64]
MOST_MEMORY_DAYS = 120.0  # beyond it the grid of states is too coarse
_STATES = np.linspace(-5.0, 5.0, 51)
_MOST_STEPS, _CLOSE = 2000, 1e-9  # rounds of the search, and how near logits have to come
_MOST_NEWTON = 12


@dataclass(frozen=True)
class Weather:
    """How long weather holds, and how much it moves the chance and the depth of rain."""

    memory_days: float  # time in which the correlation of the state falls to 1/e [d], > 0 and at most 120
    # what one standard deviation of the state adds to the logit of both chances of a wet day [-], >= 0
    wetness_spread: float
    depth_spread: float  # what it adds to the logarithm of the depth of a wet day [-], >= 0

    @property
    def moves(self) -> bool:
        """Whether the state moves anything."""
        return self.wetness_spread > 0.0 or self.depth_spread > 0.0

    @property
    def kept(self) -> float:
        """Correlation of the state with that of the day before."""
        return float(np.exp(-1.0 / self.memory_days))


STEADY = Weather(10.0, 0.0, 0.0)  # every month and year has the same chances
# One set for six climates (tests/recorded/rain_spread.csv): yearly and monthly spread, dry spells and driest
# seasons come out right in the middle of them; base.toml states the same numbers.
USUAL = Weather(10.0, 0.8, 0.2)


@dataclass(frozen=True, eq=False)
class Conditioned:
    """Monthly values at the middle state of the weather, so chosen that over all states the table holds."""

    # logit of the chance of a wet day after a dry and after a wet one [-], float64[12]; may be infinite
    after_dry: Floats
    after_wet: Floats
    power: Floats  # power of a unit gamma number of the table's shape in the depth [-], 0 to 1, float64[12]
    scale_m: Floats  # depth at a gamma number of 1 [m], float64[12]


def condition(p01: Floats, p11: Floats, shape: Floats, scale_m: Floats, weather: Weather) -> Conditioned:
    """Return the values at the middle state with which the chain and its depths keep a table.

    Parameters
    ----------
    p01, p11 : numpy.ndarray
        P(wet | dry yesterday) and P(wet | wet yesterday) over all states [-], float64[12].
    shape, scale_m : numpy.ndarray
        Gamma law of depth on wet days over all states: shape [-] and scale [m], float64[12].
    weather : Weather
        What the state does.

    Returns
    -------
    Conditioned
        Chances of both kinds, share of wet days, mean depth and mean logarithm of depth are those of the
        table in a month that goes on for ever.

    Notes
    -----
    The joint law of state and wet or dry is carried on from day to day on a grid of 51 states, and each logit
    is moved by what its chance is off, until both stay. The state's law is x' = r x + sqrt(1 - r^2) e with
    r = exp(-1/memory). Wet days are more often those of a wet state, so the depth is divided by its mean
    factor over wet days. The spread the state adds is taken off the gamma numbers g by a power q below 1: the
    logarithm of the mean of g^q less the mean of its logarithm, ln G(a + q) - ln G(a) - q digamma(a), is that
    of the table less that of the state. The numbers themselves are those of any other weather.
    """
    with np.errstate(divide="ignore"):
        after_dry, after_wet = logit(p01), logit(p11)
    if not weather.moves:
        return Conditioned(after_dry, after_wet, np.ones(12), scale_m)
    after_dry, after_wet, wet = _kept_chances(p01, p11, after_dry, after_wet, weather)
    rains = wet.sum(axis=1) > 0.0
    share = np.where(rains, wet.sum(axis=1), 1.0)
    factor = np.where(rains, wet @ np.exp(weather.depth_spread * _STATES) / share, 1.0)
    added = np.log(factor) - weather.depth_spread * (wet @ _STATES) / share
    power = _power(shape, np.log(shape) - digamma(shape) - added)
    mean = np.exp(gammaln(shape + power) - gammaln(shape))  # of the gamma numbers to that power
    return Conditioned(after_dry, after_wet, power, shape * scale_m / (mean * factor))


def _power(shape: Floats, log_excess: Floats) -> Floats:
    """Return the power of gamma numbers with this logarithm of the mean less mean of logarithms.

    Newton's steps from 1, where the excess is that of the numbers themselves; it is convex, so they come from
    above. 0, all depths alike, where the state alone spreads more than the table.
    """
    power = np.ones_like(shape)
    for _ in range(_MOST_NEWTON):
        excess = gammaln(shape + power) - gammaln(shape) - power * digamma(shape)
        steep = digamma(shape + power) - digamma(shape)
        power = power - np.where(steep > 0.0, (excess - log_excess) / np.where(steep > 0.0, steep, 1.0), 0.0)
        power = np.maximum(power, 0.0)
    return power


def _kept_chances(
    p01: Floats, p11: Floats, after_dry: Floats, after_wet: Floats, weather: Weather
) -> tuple[Floats, Floats, Floats]:
    """Return the logits that keep both chances, and the joint law of state (51) and wet by month (12)."""
    step, pushed = _kernel(weather.kept), weather.wetness_spread * _STATES
    weight = np.exp(-0.5 * _STATES**2)
    weight /= weight.sum()
    share = (p01 / (1.0 + p01 - p11))[:, None]
    wet, dry = share * weight, (1.0 - share) * weight
    for _ in range(_MOST_STEPS):
        came_wet, came_dry = wet @ step, dry @ step
        wet_again = came_wet * expit(after_wet[:, None] + pushed)
        turned_wet = came_dry * expit(after_dry[:, None] + pushed)
        off_wet = _off(p11, wet_again, came_wet)
        off_dry = _off(p01, turned_wet, came_dry)
        after_wet, after_dry = after_wet + off_wet, after_dry + off_dry
        wet = wet_again + turned_wet
        dry = came_wet + came_dry - wet
        if max(np.abs(off_wet).max(), np.abs(off_dry).max()) < _CLOSE:
            break
    return after_dry, after_wet, wet


def _off(wanted: Floats, turned: Floats, came: Floats) -> Floats:
    """Return by how much the logit of each month's chance is off; 0 where it is certain or never tried."""
    tried = (wanted > 0.0) & (wanted < 1.0) & (came.sum(axis=1) > 0.0)
    got = np.where(tried, turned.sum(axis=1) / np.where(tried, came.sum(axis=1), 1.0), 0.5)
    off: Floats = np.where(tried, logit(np.where(tried, wanted, 0.5)) - logit(got), 0.0)
    return off


def _kernel(kept: float) -> Floats:
    """Return the chances of each state tomorrow (columns) by that of today (rows)."""
    apart = (_STATES[None, :] - kept * _STATES[:, None]) / np.sqrt(1.0 - kept * kept)
    kernel = np.exp(-0.5 * apart**2)
    rows: Floats = kernel / kernel.sum(axis=1, keepdims=True)
    return rows
