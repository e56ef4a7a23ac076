"""Low-pressure UV lamp: how its output fades, how cold water dims it, how long it lives."""

import math

from sim.compiled import compiled


@compiled
def output(lit_s: float, time_constant_s: float, burn_in_s: float, burn_in_loss: float) -> float:
    """Return the UV output of a lamp over that of a new one.

    Parameters
    ----------
    lit_s : float
        Time lit since new [s], >= 0.
    time_constant_s : float
        Time constant of the slow fade [s], > 0.
    burn_in_s : float
        Time constant of the early loss [s], > 0; about 100 h is usual (from memory).
    burn_in_loss : float
        Share lost in burn-in, 0 to 1.

    Returns
    -------
    float
        Output, 1 when new.

    Notes
    -----
    exp(-t/tau) [1 - l (1 - exp(-t/tau_b))].

    References
    ----------
    Shape: assumption that joins published end-of-life figures (80 % by 8,000 h, Malley 2020; 65 % at 8,750 h,
    US UFGS guide specification).

    Examples
    --------
    >>> output(8760 * 3600.0, 24560 * 3600.0, 100 * 3600.0, 0.0)
    0.700
    """
    return math.exp(-lit_s / time_constant_s) * (1.0 + burn_in_loss * math.expm1(-lit_s / burn_in_s))


@compiled
def time_constant_from(output_at_end: float, end_s: float) -> float:
    """Return the time constant of the slow fade from one end-of-life figure.

    Parameters
    ----------
    output_at_end : float
        Output over new at the end, above 0 and below 1. With a burn-in loss l give the figure over (1 - l).
    end_s : float
        Time lit at that end [s].

    Notes
    -----
    tau = -t/ln f.

    References
    ----------
    Inverse of `output` without burn-in.

    Examples
    --------
    >>> time_constant_from(0.80, 8000.0 * 3600.0) / 3600.0
    35851.
    """
    return -end_s / math.log(output_at_end)


@compiled
def temperature_factor(water_c: float, optimum_low_c: float, factor_at_zero: float) -> float:
    """Return the output of a sleeved lamp in cold water over that at its optimum.

    Parameters
    ----------
    water_c : float
        Water temperature [deg C], 0 to 40.
    optimum_low_c : float
        Water temperature from which the output is full [deg C], > 0.
    factor_at_zero : float
        Output over full at 0 deg C, 0 to 1.

    Returns
    -------
    float
        Factor, 1 from the optimum up.

    Notes
    -----
    A straight line from 0 deg C to the optimum. Loss in hot water is left out: cisterns are not hot.

    References
    ----------
    Assumption, no source (0.80 at 0 deg C and full from 15 deg C are our defaults).

    Examples
    --------
    >>> temperature_factor(7.5, 15.0, 0.80)
    0.90
    """
    if water_c >= optimum_low_c:
        return 1.0
    return factor_at_zero + (1.0 - factor_at_zero) * water_c / optimum_low_c


@compiled
def weibull_life_s(unit_exponential: float, scale_s: float, shape: float) -> float:
    """Return a Weibull life from a unit exponential draw.

    Parameters
    ----------
    unit_exponential : float
        Draw from the exponential distribution of mean 1, >= 0.
    scale_s : float
        Characteristic life, by which 63.2 % have failed [s].
    shape : float
        Weibull shape, > 0; above 1 wears out, 1 is without memory.

    Notes
    -----
    t = eta E^(1/beta): its survival exp(-(t/eta)^beta) is exp(-E), so one draw serves any shape and scale.

    References
    ----------
    Inversion of the Weibull survival function.

    Examples
    --------
    >>> weibull_life_s(4.0, 100.0, 2.0)
    200.0
    """
    return scale_s * math.pow(unit_exponential, 1.0 / shape)
