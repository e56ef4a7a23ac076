"""The resistance of a cartridge with a continuous exponent and a plateau, as draws of a part need it."""

import math

from sim.compiled import compiled

LARGEST_RATIO = 1e6
_NEAR_ONE = 1e-6


@compiled
def growth_for(exponent: float, ratio_at_capacity: float) -> float:
    """Return the growth constant that gives a stated resistance ratio at full load.

    Parameters
    ----------
    exponent : float
        n of dR/dx = k R^n, 0 (cake) to 2 (complete blocking).
    ratio_at_capacity : float
        R/R0 at load 1, above 1.

    Returns
    -------
    float
        k.

    References
    ----------
    Hermia, J. (1982), Trans. IChemE 60, 183-187: n = 0, 1, 3/2, 2 are its four laws.

    Examples
    --------
    >>> growth_for(2.0, 4.0)
    0.75
    """
    if abs(exponent - 1.0) < _NEAR_ONE:
        return math.log(ratio_at_capacity)
    return (math.pow(ratio_at_capacity, 1.0 - exponent) - 1.0) / (1.0 - exponent)


@compiled
def resistance_ratio(load: float, exponent: float, plateau: float, growth: float) -> float:
    """Return the resistance of a loaded cartridge over that of the clean one.

    Parameters
    ----------
    load : float
        Caught mass over dirt capacity, >= 0.
    exponent : float
        n, 0 to 2.
    plateau : float
        Share of the capacity that is taken in depth before the resistance grows, 0 to below 1.
    growth : float
        k, from `growth_for`.

    Returns
    -------
    float
        R/R0, from 1 up to 1e6.

    Notes
    -----
    x = (load - plateau)/(1 - plateau); R^(1-n) = 1 + (1 - n) k x, and exp(k x) for n = 1.

    Examples
    --------
    >>> resistance_ratio(0.5, 1.5, 0.0, 1.0)
    1.7778
    >>> resistance_ratio(0.2, 1.0, 0.3, 2.0)
    1.0
    """
    x = (load - plateau) / (1.0 - plateau)
    if x <= 0.0:
        return 1.0
    if abs(exponent - 1.0) < _NEAR_ONE:
        return min(math.exp(min(growth * x, 700.0)), LARGEST_RATIO)
    left = 1.0 + (1.0 - exponent) * growth * x
    if left <= 1e-12:
        return LARGEST_RATIO
    return min(math.pow(left, 1.0 / (1.0 - exponent)), LARGEST_RATIO)
