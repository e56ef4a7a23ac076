"""The cistern: a well-mixed volume of water above a layer of sludge.

An *amount* is anything that moves with the water and is counted: solids of one class [kg], or colour as
absorbance times volume [m2]. Every function returns where all of it went; nothing is made or lost.
"""

import math

from sim.compiled import compiled
from sim.constants import GRAVITY_M_S2


@compiled
def stokes_velocity_m_s(
    diameter_m: float, particle_kg_m3: float, water_kg_m3: float, viscosity_pa_s: float
) -> float:
    """Return the settling velocity of a small sphere.

    Parameters
    ----------
    diameter_m : float
        Diameter [m], > 0; Reynolds number below about 1 (about 100 um for a mineral grain in water).
    particle_kg_m3 : float
        Density of the particle with the water in it [kg/m3] (1100 for organic flocs is an assumption).
    water_kg_m3 : float
        Density of water [kg/m3].
    viscosity_pa_s : float
        Dynamic viscosity of water [Pa s], > 0.

    Returns
    -------
    float
        Velocity downwards [m/s]; negative when the particle floats. Times the floor area [m2] it is the
        settling flow that `draw_and_settle` takes [m3/s].

    Notes
    -----
    v = g (rho_p - rho) d^2 / (18 mu).

    References
    ----------
    Stokes, G. G. (1851), Trans. Camb. Phil. Soc. 9, 8.

    Examples
    --------
    Textbook: 50 um, specific gravity 2.67, 0.01 poise: 0.2275 cm/s.

    >>> 100 * stokes_velocity_m_s(50e-6, 2670.0, 1000.0, 1e-3)
    0.2275
    """
    return GRAVITY_M_S2 * (particle_kg_m3 - water_kg_m3) * diameter_m * diameter_m / (18.0 * viscosity_pa_s)


@compiled
def fill(volume_m3: float, inflow_m3: float, capacity_m3: float) -> tuple[float, float]:
    """Return the stored volume and the overflow after some inflow.

    Parameters
    ----------
    volume_m3 : float
        Water in the cistern before [m3], 0 to capacity.
    inflow_m3 : float
        Water that arrives [m3], >= 0.
    capacity_m3 : float
        Volume at the overflow [m3], >= 0.

    Examples
    --------
    >>> fill(8.0, 5.0, 10.0)
    (10.0, 3.0)
    """
    overflow_m3 = max(0.0, volume_m3 + inflow_m3 - capacity_m3)
    return min(volume_m3 + inflow_m3, capacity_m3), overflow_m3


@compiled
def mix_in(
    amount: float, volume_m3: float, inflow_m3: float, inflow_amount: float, capacity_m3: float
) -> tuple[float, float]:
    """Return what stays and what overflows when water with something in it flows in.

    Parameters
    ----------
    amount : float
        Amount in the cistern before, >= 0.
    volume_m3 : float
        Water in the cistern before [m3], 0 to capacity.
    inflow_m3 : float
        Water that arrives [m3], >= 0.
    inflow_amount : float
        Amount that arrives with it, >= 0; must be 0 when no water arrives.
    capacity_m3 : float
        Volume at the overflow [m3], > 0.

    Returns
    -------
    tuple of float
        Amount left in the cistern, amount overflowed; their sum is what was there and what came.

    Notes
    -----
    First the cistern fills and mixes. The rest x of the inflow, at concentration c, then flushes a full
    stirred tank of volume V: m = c V + (m1 - c V) exp(-x/V), and c x + (m1 - c V)(1 - exp(-x/V)) goes over.

    References
    ----------
    Stirred tank at constant volume: Levenspiel, Chemical Reaction Engineering (3rd ed. 1999), chapter 11.

    Examples
    --------
    A full cistern flushed with one volume of clean water keeps 1/e.

    >>> mix_in(1.0, 5.0, 5.0, 0.0, 5.0)
    (0.367879, 0.632121)
    """
    if inflow_m3 <= 0.0:
        return amount + inflow_amount, 0.0
    concentration = inflow_amount / inflow_m3
    filling_m3 = min(inflow_m3, max(0.0, capacity_m3 - volume_m3))
    excess_m3 = inflow_m3 - filling_m3
    if excess_m3 <= 0.0:
        return amount + inflow_amount, 0.0
    mixed = amount + concentration * filling_m3
    turnovers = excess_m3 / capacity_m3
    renewed = -math.expm1(-turnovers)  # share of the full tank that was replaced
    left = concentration * capacity_m3 * renewed + mixed * math.exp(-turnovers)
    overflow = concentration * capacity_m3 * max(0.0, turnovers - renewed) + mixed * renewed
    return left, overflow


@compiled
def draw_and_settle(
    amount: float,
    volume_m3: float,
    drawn_m3: float,
    settling_m3_s: float,
    dt_s: float,
    inflow_m3: float = 0.0,
) -> tuple[float, float, float]:
    """Return what stays, leaves with the draw and settles while water is drawn at a steady rate.

    Parameters
    ----------
    amount : float
        Amount in the water before, >= 0.
    volume_m3 : float
        Water in the cistern before [m3], >= 0.
    drawn_m3 : float
        Water drawn in the interval [m3], 0 to volume and inflow.
    settling_m3_s : float
        Settling velocity times floor area [m3/s], >= 0.
    dt_s : float
        Length of the interval [s], >= 0.
    inflow_m3 : float
        Water without any of it that flows in at a steady rate meanwhile [m3], >= 0.

    Returns
    -------
    tuple of float
        Amount left, amount drawn, amount settled; their sum is the amount before.

    Notes
    -----
    dm/dt = -(q + w) m/V with V = V0 - (q - i) t, q = drawn/dt, i = inflow/dt, w = settling flow:
    m = m0 (V/V0)^((q + w)/(q - i)), in the limit q = i m0 exp(-(q + w) t/V0). Both losses are in proportion
    to m/V, so they share what was removed as q to w. An emptied cistern leaves nothing in the water.

    Examples
    --------
    Half drawn at the rate it settles: (1/2)^2 stays, the rest is shared equally.

    >>> draw_and_settle(1.0, 2.0, 1.0, 0.01, 100.0)
    (0.250, 0.375, 0.375)
    """
    settling_m3 = settling_m3_s * dt_s
    lost_m3 = drawn_m3 + settling_m3
    if lost_m3 <= 0.0:
        return amount, 0.0, 0.0
    sunk_m3 = drawn_m3 - inflow_m3
    if sunk_m3 >= volume_m3 or volume_m3 <= 0.0:
        exponent = -math.inf
    elif sunk_m3 != 0.0:
        exponent = math.log1p(-sunk_m3 / volume_m3) * (lost_m3 / sunk_m3)
    else:
        exponent = -lost_m3 / volume_m3
    removed = amount * -math.expm1(exponent)
    drawn = removed * (drawn_m3 / lost_m3)
    return amount * math.exp(exponent), drawn, removed - drawn


@compiled
def decayed(amount: float, rate_per_s: float, dt_s: float) -> tuple[float, float]:
    """Return what is left and what is lost by first-order decay.

    Parameters
    ----------
    amount : float
        Amount before, >= 0.
    rate_per_s : float
        Decay rate [1/s], >= 0.
    dt_s : float
        Length of the interval [s], >= 0.

    Returns
    -------
    tuple of float
        Amount left, amount lost.

    Examples
    --------
    >>> decayed(1.0, 0.01, 69.3147181)
    (0.500000, 0.500000)
    """
    exponent = -rate_per_s * dt_s
    return amount * math.exp(exponent), amount * -math.expm1(exponent)


@compiled
def resuspended_kg(sludge_kg: float, inflow_m3: float, rate_per_m3: float, calming_factor: float) -> float:
    """Return the sludge that inflow stirs up.

    Parameters
    ----------
    sludge_kg : float
        Sludge on the floor [kg], >= 0.
    inflow_m3 : float
        Water that arrives [m3], >= 0.
    rate_per_m3 : float
        Share of the sludge stirred up per volume of inflow, at small inflow [1/m3], >= 0 (an assumption).
    calming_factor : float
        1 for an open inlet; a calmed (J-shaped) inlet cuts resuspension by more than half, so below 0.5.

    Returns
    -------
    float
        Sludge brought back into the water [kg]; never more than there is.

    Notes
    -----
    dM/dV = -k M: M (1 - exp(-k V)). In parts or at once the result is the same.

    References
    ----------
    Magyar et al. (2007), Water Sci. Technol. 56(9) (resuspended sediment degrades the outlet). The law and
    its rate are assumptions.

    Examples
    --------
    >>> resuspended_kg(2.0, 1e3, 1.0, 0.5)
    2.0
    """
    return sludge_kg * -math.expm1(-rate_per_m3 * calming_factor * inflow_m3)


@compiled
def entrained_kg(
    sludge_kg: float, drawn_m3: float, level_fraction: float, rate_per_m3: float, onset_fraction: float
) -> float:
    """Return the extra sludge that a draw pulls in when the water stands low.

    Parameters
    ----------
    sludge_kg : float
        Sludge on the floor [kg], >= 0.
    drawn_m3 : float
        Water drawn [m3], >= 0.
    level_fraction : float
        Water level above the intake over the full height above the intake [-]; below 0 counts as 0.
    rate_per_m3 : float
        Share of the sludge pulled in per volume drawn when the level is at the intake [1/m3], >= 0.
    onset_fraction : float
        Level fraction below which it begins [-], 0 to 1; 0 means never.

    Returns
    -------
    float
        Sludge that leaves with the draw [kg]; never more than there is.

    Notes
    -----
    The rate rises linearly from 0 at the onset to `rate_per_m3` at the intake; M (1 - exp(-rate V)). An
    assumption: sources say that a low level draws more sludge, not how much.

    Examples
    --------
    >>> entrained_kg(1.0, 1.0, 0.1, 0.02, 0.2)
    0.009950
    """
    if onset_fraction <= 0.0:
        return 0.0
    nearness = min(1.0, max(0.0, 1.0 - level_fraction / onset_fraction))
    return sludge_kg * -math.expm1(-rate_per_m3 * nearness * drawn_m3)
