"""Cartridge filters: what they catch by particle size, and how the catch clogs them."""

import math

from sim.compiled import compiled

# Hermia's four laws by their exponent n; anything between 0 and 2 is a law as well.
COMPLETE, STANDARD, INTERMEDIATE, CAKE = 2.0, 1.5, 1.0, 0.0
LARGEST_RATIO = 1e6  # above n = 1 the laws diverge; from here on a cartridge is as good as shut


@compiled
def resistance_ratio(load: float, exponent: float, growth: float, plateau_share: float = 0.0) -> float:
    """Return the resistance of a loaded medium over that of the clean one.

    Parameters
    ----------
    load : float
        Caught mass over dirt capacity, >= 0; 1 is the load at which the stated terminal rise is reached.
    exponent : float
        n of the law, 0 to 2: CAKE, INTERMEDIATE, STANDARD, COMPLETE, or anything between.
    growth : float
        k of the law, from `growth_for`, >= 0.
    plateau_share : float
        Share of the dirt capacity that is taken in depth before resistance grows, 0 to below 1.

    Returns
    -------
    float
        R/R0, from 1 up to LARGEST_RATIO; it never falls with load.

    Notes
    -----
    dR/dy = k R^n from R = 1 at y = 0, with y = (x - p)/(1 - p) and R = 1 up to x = p, so that a load of 1 is
    the same for every plateau p: R = (1 + (1 - n) k y)^(1/(1 - n)), and exp(ky) at n = 1. The classical four:
    complete 1/(1 - ky); standard (1 - ky/2)^-2; intermediate exp(ky); cake 1 + ky. Above n = 1 the law
    diverges, at y = 1/(k (n - 1)); all are held at LARGEST_RATIO. The resistance depends on what was caught
    only, so one law serves constant flow, constant pressure and anything between.

    References
    ----------
    Hermia, J. (1982), Trans. IChemE 60, 183-187: d2t/dV2 = K (dt/dV)^n, n = 2, 3/2, 1, 0. The plateau, and an
    n between the four, are what recorded runs ask for (tests/recorded/clogging.csv: air, dust, a fibre mat).

    Examples
    --------
    >>> resistance_ratio(0.5, STANDARD, 1.0)
    1.7778
    >>> resistance_ratio(0.2, INTERMEDIATE, 3.0, 0.2), resistance_ratio(0.6, INTERMEDIATE, 2.0, 0.2)
    (1.0, 2.7183)
    """
    y = (load - plateau_share) / (1.0 - plateau_share)
    if y <= 0.0:
        return 1.0
    if exponent == INTERMEDIATE:
        return min(math.exp(min(growth * y, 700.0)), LARGEST_RATIO)
    left = (1.0 - exponent) * growth * y  # log1p and expm1 keep the law whole as n nears 1
    if left <= -1.0:
        return LARGEST_RATIO
    return min(math.exp(min(math.log1p(left) / (1.0 - exponent), 700.0)), LARGEST_RATIO)


@compiled
def growth_for(exponent: float, ratio_at_capacity: float) -> float:
    """Return the growth constant that gives a stated resistance ratio at full load.

    Parameters
    ----------
    exponent : float
        n of the law, 0 to 2.
    ratio_at_capacity : float
        R/R0 wanted at load 1, 1 to LARGEST_RATIO.

    Returns
    -------
    float
        k of `resistance_ratio`.

    Notes
    -----
    (R^(1 - n) - 1)/(1 - n), and ln R at n = 1: complete 1 - 1/R; standard 2 (1 - R^-1/2); cake R - 1.

    References
    ----------
    Inverse of the law of Hermia (1982) at y = 1.

    Examples
    --------
    >>> growth_for(COMPLETE, 4.0)
    0.75
    """
    if exponent == INTERMEDIATE:
        return math.log(ratio_at_capacity)
    return math.expm1((1.0 - exponent) * math.log(ratio_at_capacity)) / (1.0 - exponent)


@compiled
def capacity_factor(unit_normal: float, capacity_cv: float, housings: float) -> float:
    """Return the dirt capacity of the cartridges put in over that of the usual ones.

    Parameters
    ----------
    unit_normal : float
        Draw from the normal distribution of mean 0 and standard deviation 1 [-].
    capacity_cv : float
        Standard deviation over mean of the capacity of like cartridges, >= 0.
    housings : float
        Cartridges that are put in together and share the dirt evenly, 1 or more.

    Returns
    -------
    float
        Factor, above 0, with a mean of 1.

    Notes
    -----
    Lognormal: exp(s z - s^2/2), s^2 = ln(1 + cv^2/h): the mean of h has the cv of one over sqrt(h).

    References
    ----------
    Moments of the lognormal distribution. Recorded cv of like filters: 0.08 (tests/recorded/clogging.csv).

    Examples
    --------
    >>> capacity_factor(0.0, 0.08, 1.0), capacity_factor(1.0, 0.08, 4.0)
    (0.9968, 1.0400)
    """
    variance = math.log(1.0 + capacity_cv * capacity_cv / housings)
    return math.exp(math.sqrt(variance) * unit_normal - 0.5 * variance)


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
