"""Power cuts: how long they last, from how often and how long a year the utility says they come."""

import math

import numpy as np
import numpy.typing as npt

from sim.constants import SUSTAINED_CUT_S

Floats = npt.NDArray[np.float64]


def median_beyond_s(saifi_per_year: float, saidi_s: float, spread: float) -> float:
    """Return the median of the time that cuts last beyond the five minutes from which they are counted.

    Parameters
    ----------
    saifi_per_year : float
        Sustained interruptions a customer has a year (SAIFI) [1/year], > 0.
    saidi_s : float
        Time without power a customer has a year (SAIDI) [s/year], above five minutes for each interruption.
    spread : float
        Lognormal sigma of the time beyond five minutes, >= 0.

    Notes
    -----
    Mean length (CAIDI) = SAIDI/SAIFI; length = 5 min + X, X lognormal: median = (CAIDI - 5 min) exp(-s^2/2).
    Shorter interruptions, which these indices leave out, are not described.

    References
    ----------
    IEEE 1366 (indices; from memory); mean of the lognormal distribution.

    Examples
    --------
    1.34 cuts and 339 minutes a year, spread 1.9: half of the cuts last under 46 minutes.

    >>> (300.0 + median_beyond_s(1.34, 339 * 60.0, 1.9)) / 60.0
    45.8
    """
    return (saidi_s / saifi_per_year - SUSTAINED_CUT_S) * math.exp(-0.5 * spread * spread)


def cut_lengths_s(unit_normal: Floats, saifi_per_year: float, saidi_s: float, spread: float) -> Floats:
    """Return the lengths of cuts.

    Parameters
    ----------
    unit_normal : ndarray
        One draw from the normal distribution of mean 0 and standard deviation 1 for each cut.
    saifi_per_year : float
        Sustained interruptions a year [1/year], > 0 where there are cuts.
    saidi_s : float
        Time without power a year [s/year].
    spread : float
        Lognormal sigma, >= 0.

    Returns
    -------
    ndarray
        Lengths [s], each above five minutes.

    Notes
    -----
    5 min + median exp(s z), with the median of `median_beyond_s`.

    References
    ----------
    As for `median_beyond_s`.

    Examples
    --------
    >>> cut_lengths_s(np.array([0.0]), 1.0, 3600.0, 0.0)
    array([3600.])
    """
    if unit_normal.size == 0:
        return unit_normal
    lengths: Floats = SUSTAINED_CUT_S + median_beyond_s(saifi_per_year, saidi_s, spread) * np.exp(
        spread * unit_normal
    )
    return lengths
