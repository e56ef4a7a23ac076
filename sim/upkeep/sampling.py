"""What a sample of tap water can say: coliforms present or absent in 100 mL, from how the water was dosed."""

import math

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


def surviving_share(volume_m3: Floats, dose_j_m2: Floats, log_dose_j_m2: float) -> float:
    """Return the share of organisms that came through the UV unit alive with the water of some draws.

    Parameters
    ----------
    volume_m3 : ndarray
        Water of each draw [m3], not negative.
    dose_j_m2 : ndarray
        Least dose of each draw [J/m2]; infinite where nothing flowed.
    log_dose_j_m2 : float
        Dose that leaves one in ten alive [J/m2], > 0.

    Returns
    -------
    float
        Mean over the water [fraction], 0 to 1; 0 when no water was drawn.

    Notes
    -----
    Inactivation of first order (Chick 1908, J. Hygiene 8:92), S = 10^(-D/D10), averaged by volume. The least
    dose of a draw stands for all its water, which is the cautious side; no shoulder and no tail.

    Examples
    --------
    >>> surviving_share(np.array([1.0, 1.0]), np.array([0.0, 400.0]), 30.0)
    0.5
    """
    total = float(volume_m3.sum())
    if total <= 0.0:
        return 0.0
    return float((volume_m3 * 10.0 ** (-dose_j_m2 / log_dose_j_m2)).sum()) / total


def positive_probability(alive_share: float, raw_count: float, false_positive_share: float) -> float:
    """Return the chance that a sample of 100 mL shows coliforms.

    Parameters
    ----------
    alive_share : float
        Share of organisms that came through alive [fraction].
    raw_count : float
        Mean number in 100 mL before the UV unit, not negative.
    false_positive_share : float
        Chance of a find that has nothing to do with the water [fraction].

    Returns
    -------
    float
        Probability.

    Notes
    -----
    Organisms spread at random: the number in a bottle is Poisson, none is in it with exp(-mean), the ground
    of the most probable number (Cochran 1950, Biometrics 6:105). They clump in truth, and the number in roof
    water differs by orders of magnitude from rain to rain: a clear sample says little of the minute it was
    taken in and nothing of yesterday.

    Examples
    --------
    >>> positive_probability(0.1, 20.0, 0.0)
    0.8647
    >>> positive_probability(0.0, 20.0, 0.02)
    0.02
    """
    return 1.0 - (1.0 - false_positive_share) * math.exp(-raw_count * alive_share)
