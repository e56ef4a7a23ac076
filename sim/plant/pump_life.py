"""How long a pump lasts: by the years it stands, the hours it runs and the starts it makes, together."""

import math

from sim.compiled import compiled
from sim.constants import GRAVITY_M_S2


@compiled
def equivalent_age_s(
    age_s: float,
    run_s: float,
    start_count: float,
    life_age_s: float,
    life_run_s: float,
    life_start_count: float,
    shape: float,
) -> float:
    """Return the age of an idle pump that has as large a chance of having failed as this one.

    Parameters
    ----------
    age_s : float
        Time since it was put in [s], >= 0.
    run_s : float
        Time it has run [s], >= 0; time in cavitation counted several times.
    start_count : float
        Starts it has made, >= 0; short runs counted more than once (`counted_starts`).
    life_age_s, life_run_s : float
        Weibull scale of life by age alone and by running alone [s], > 0.
    life_start_count : float
        Weibull scale of life by starts alone, > 0.
    shape : float
        Weibull shape of all three, > 0.

    Returns
    -------
    float
        Age [s], never below `age_s`; the pump fails when it reaches a life drawn from the first scale.

    Notes
    -----
    Three causes compete, each Weibull in its own use u_i with scale L_i: survival is exp(-H), with
    H = sum (u_i/L_i)^b. One unit exponential E is the life of the pump: it fails at H = E, which is
    A = L_a E^(1/b), its life by age alone, for A = L_a H^(1/b). That life is its own, whatever its use.

    References
    ----------
    Competing risks with Weibull causes: Cox & Oakes 1984, Analysis of Survival Data, ch. 9 (from memory).

    Examples
    --------
    A pump that is as far by starts as by age, shape 2:

    >>> equivalent_age_s(300.0, 0.0, 400.0, 1000.0, 1.0, 1000.0, 2.0)
    500.0
    """
    by_run = run_s * life_age_s / life_run_s
    by_starts = start_count * life_age_s / life_start_count
    total = math.pow(age_s, shape) + math.pow(by_run, shape) + math.pow(by_starts, shape)
    return math.pow(total, 1.0 / shape)


def life_scale_s(
    run_share: float,
    starts_per_s: float,
    life_age_s: float,
    life_run_s: float,
    life_start_count: float,
    shape: float,
) -> float:
    """Return the Weibull scale of the age at which a pump fails that is used evenly.

    Parameters
    ----------
    run_share : float
        Share of the time it runs, >= 0.
    starts_per_s : float
        Starts, short runs counted more than once [1/s], >= 0.
    life_age_s, life_run_s : float
        Weibull scale of life by age alone and by running alone [s], > 0.
    life_start_count : float
        Weibull scale of life by starts alone, > 0.
    shape : float
        Weibull shape of all three, > 0.

    Returns
    -------
    float
        Scale [s]: by this age 63.2 % have failed; half have by (ln 2)^(1/b) of it.

    Notes
    -----
    With even use every cause goes with age, so that their least is Weibull again: (sum s_i^-b)^(-1/b), with
    the scales s_i = L_a, L_r/share and L_n/rate.

    References
    ----------
    Least of independent Weibull variables of one shape.

    Examples
    --------
    Two causes alike, shape 2: the scale falls by sqrt(2).

    >>> life_scale_s(0.0, 1e-3, 1000.0, 1.0, 1.0, 2.0)
    707.1
    """
    rates = (1.0 / life_age_s, run_share / life_run_s, starts_per_s / life_start_count)
    total = math.pow(rates[0], shape) + math.pow(rates[1], shape) + math.pow(rates[2], shape)
    return math.pow(total, -1.0 / shape)


@compiled
def counted_starts(start_count: float, short_run_count: float, short_run_wear_factor: float) -> float:
    """Return the starts that count for wear.

    Parameters
    ----------
    start_count : float
        Starts, >= 0.
    short_run_count : float
        Of them, those of a run under a minute, >= 0.
    short_run_wear_factor : float
        Starts that one of these counts for on top of its own, >= 0.

    Notes
    -----
    A motor needs a minute or so to lose the heat of its start; a shorter run does not give it that.

    References
    ----------
    Least run of a minute: trade press on pressure tanks. The weight of a short run: assumption.

    Examples
    --------
    >>> counted_starts(100.0, 40.0, 1.0)
    140.0
    """
    return start_count + short_run_wear_factor * short_run_count


def cavitation_depth_m(
    atmosphere_pa: float,
    vapour_pressure_pa: float,
    density_kg_m3: float,
    height_m: float,
    friction_m: float,
    npsh_required_m: float,
) -> float:
    """Return the depth of water in the cistern below which the pump cavitates.

    Parameters
    ----------
    atmosphere_pa : float
        Absolute pressure on the water surface [Pa].
    vapour_pressure_pa : float
        Vapour pressure of the water, absolute [Pa].
    density_kg_m3 : float
    height_m : float
        Pump above the cistern floor [m].
    friction_m : float
        Head lost in the suction pipe [m].
    npsh_required_m : float
        Net positive suction head the pump needs [m].

    Returns
    -------
    float
        Depth above the floor [m]; below zero when it never does.

    Notes
    -----
    `pump.npsh_available_m` solved for the depth: NPSH_r + z + h_f - (p_atm - p_v)/(rho g).

    References
    ----------
    Definition (ISO 17769-1).

    Examples
    --------
    A pump 9 m above the floor that needs 3 m, 0.5 m of friction, cold water:

    >>> cavitation_depth_m(101325.0, 2339.3, 998.207, 9.0, 0.5, 3.0)
    2.39
    """
    head_m = (atmosphere_pa - vapour_pressure_pa) / (density_kg_m3 * GRAVITY_M_S2)
    return npsh_required_m + height_m + friction_m - head_m
