"""Cartridge filters: what they catch by particle size, and how the catch clogs them."""

import math

from sim.compiled import compiled

COMPLETE, STANDARD, INTERMEDIATE, CAKE = 0, 1, 2, 3
LARGEST_RATIO = 1e6  # complete and standard blocking diverge; from here on a cartridge is as good as shut


@compiled
def resistance_ratio(load: float, law: int, growth: float) -> float:
    """Return the resistance of a loaded medium over that of the clean one.

    Parameters
    ----------
    load : float
        Caught mass over dirt capacity, >= 0; 1 is the load at which the stated terminal rise is reached.
    law : int
        COMPLETE, STANDARD, INTERMEDIATE or CAKE.
    growth : float
        k of the law, from `growth_for`, >= 0.

    Returns
    -------
    float
        R/R0, from 1 up to LARGEST_RATIO; it never falls with load.

    Notes
    -----
    complete 1/(1 - kx); standard (1 - kx/2)^-2; intermediate exp(kx); cake 1 + kx. The first two diverge, at
    x = 1/k and 2/k; all four are held at LARGEST_RATIO. The resistance depends on what was caught only, so
    one law serves constant flow, constant pressure and anything between.

    References
    ----------
    Hermia, J. (1982), Trans. IChemE 60, 183-187: d2t/dV2 = K (dt/dV)^m, m = 2, 3/2, 1, 0.

    Examples
    --------
    >>> resistance_ratio(0.5, STANDARD, 1.0)
    1.7778
    """
    kx = growth * load
    if law == CAKE:
        ratio = 1.0 + kx
    elif law == INTERMEDIATE:
        ratio = math.exp(min(kx, 700.0))
    else:
        left = 1.0 - kx if law == COMPLETE else (1.0 - 0.5 * kx)
        left = max(left, 1e-9)
        ratio = 1.0 / left if law == COMPLETE else 1.0 / (left * left)
    return min(ratio, LARGEST_RATIO)


@compiled
def growth_for(law: int, ratio_at_capacity: float) -> float:
    """Return the growth constant that gives a stated resistance ratio at full load.

    Parameters
    ----------
    law : int
        COMPLETE, STANDARD, INTERMEDIATE or CAKE.
    ratio_at_capacity : float
        R/R0 wanted at load 1, 1 to LARGEST_RATIO.

    Returns
    -------
    float
        k of `resistance_ratio`.

    Notes
    -----
    complete 1 - 1/R; standard 2 (1 - R^-1/2); intermediate ln R; cake R - 1.

    References
    ----------
    Inverse of the four laws of Hermia (1982) at x = 1.

    Examples
    --------
    >>> growth_for(COMPLETE, 4.0)
    0.75
    """
    if law == CAKE:
        return ratio_at_capacity - 1.0
    if law == INTERMEDIATE:
        return math.log(ratio_at_capacity)
    if law == COMPLETE:
        return 1.0 - 1.0 / ratio_at_capacity
    return 2.0 * (1.0 - 1.0 / math.sqrt(ratio_at_capacity))


@compiled
def efficiency_half_size_m(rated_m: float, efficiency_at_rated: float, sharpness: float) -> float:
    """Return the particle size of which half is caught.

    Parameters
    ----------
    rated_m : float
        Rated size [m], > 0.
    efficiency_at_rated : float
        Share caught at the rated size, above 0 and below 1: a nominal rating is often read as about 0.85.
    sharpness : float
        Exponent n of the capture curve, > 0.

    Returns
    -------
    float
        d50 [m].

    Notes
    -----
    d50 = d_r ((1 - E_r)/E_r)^(1/n).

    References
    ----------
    Inverse of `capture_efficiency` (form and sharpness: assumption).

    Examples
    --------
    >>> 1e6 * efficiency_half_size_m(5e-6, 0.80, 2.0)
    2.5
    """
    return rated_m * math.pow(1.0 / efficiency_at_rated - 1.0, 1.0 / sharpness)


@compiled
def capture_efficiency(diameter_m: float, half_size_m: float, sharpness: float) -> float:
    """Return the share of particles of one size that a cartridge catches.

    Parameters
    ----------
    diameter_m : float
        Particle diameter [m], > 0.
    half_size_m : float
        Size of which half is caught [m], > 0.
    sharpness : float
        Exponent n, > 0; larger is closer to a sieve.

    Returns
    -------
    float
        Share caught, 0 to 1.

    Notes
    -----
    E = 1/(1 + (d50/d)^n). Constant in time: neither the ripening of a cake nor unloading is described.

    References
    ----------
    Log-logistic form: assumption, no source.

    Examples
    --------
    >>> capture_efficiency(5e-6, 2.5e-6, 2.0)
    0.8
    """
    return 1.0 / (1.0 + math.pow(half_size_m / diameter_m, sharpness))


@compiled
def efficiency_from_beta(beta: float) -> float:
    """Return the share caught that a filtration ratio stands for.

    Parameters
    ----------
    beta : float
        Particles above a size upstream over those downstream, >= 1.

    Returns
    -------
    float
        Share caught, 0 to 1.

    Notes
    -----
    E = 1 - 1/beta.

    References
    ----------
    Definition of the filtration ratio, ISO 16889.

    Examples
    --------
    >>> efficiency_from_beta(20.0)
    0.95
    """
    return 1.0 - 1.0 / beta
