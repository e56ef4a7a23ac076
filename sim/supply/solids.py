"""Particles in roof water, in four size classes."""

import math

import numpy as np
import numpy.typing as npt

CLASS_NAMES = ("below 5 um", "5 to 20 um", "20 to 50 um", "above 50 um")
CLASS_EDGES_M = (5e-6, 20e-6, 50e-6)
CLASS_DIAMETERS_M = (
    3e-6,
    10e-6,
    32e-6,
    80e-6,
)  # inner two: geometric means of their edges; outer two: assumed


def class_fractions(median_m: float, sigma_g: float) -> npt.NDArray[np.float64]:
    """Return the share of mass in each size class for a lognormal size law.

    Parameters
    ----------
    median_m : float
        Median diameter by mass [m], > 0 (20e-6 is an assumption for roof runoff).
    sigma_g : float
        Geometric standard deviation [-], > 1 (3 is an assumption).

    Returns
    -------
    numpy.ndarray
        Shares [-], float64[4], sum 1.

    Notes
    -----
    Share below d is the normal distribution function of ln(d/median)/ln(sigma_g).

    References
    ----------
    Most roof-runoff mass is finer than 63 um: Brodie (2009), Urban Water J. 6, 137.

    Examples
    --------
    >>> class_fractions(20e-6, 3.0).round(4).tolist()
    [0.1035, 0.3965, 0.2979, 0.2021]
    """
    below = [
        0.5 * math.erfc(-math.log(edge_m / median_m) / (math.log(sigma_g) * math.sqrt(2.0)))
        for edge_m in CLASS_EDGES_M
    ]
    return np.diff(np.array([0.0, *below, 1.0]))
