"""Centrifugal pump at one speed: what it lifts, what it draws from the wall, and how often it starts."""

import math

from sim.compiled import compiled, inlined
from sim.constants import GRAVITY_M_S2

LEAST_EFFICIENCY = 0.01  # keeps power finite near shut-off


@inlined
def head_m(flow_m3_s: float, shutoff_head_m: float, curve_s2_m5: float) -> float:
    """Return the head a pump adds at a flow.

    Parameters
    ----------
    flow_m3_s : float
        Flow through the pump [m3/s], >= 0.
    shutoff_head_m : float
        Head at no flow [m].
    curve_s2_m5 : float
        Fall of head with the square of flow [s2/m5], > 0.

    Returns
    -------
    float
        Head [m]; negative beyond the end of the curve.

    Notes
    -----
    H = H0 - k Q^2: a parabola through shut-off and one duty point. Fair from shut-off to somewhat past the
    best point.

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> head_m(5e-4, 55.0, 3.0e7)
    47.5
    """
    return shutoff_head_m - curve_s2_m5 * flow_m3_s * flow_m3_s


@inlined
def flow_m3_s(
    pressure_pa: float,
    lift_m: float,
    shutoff_head_m: float,
    curve_s2_m5: float,
    suction_s2_m5: float,
    density_kg_m3: float,
) -> float:
    """Return the flow a pump delivers against a gauge pressure.

    Parameters
    ----------
    pressure_pa : float
        Gauge pressure at the tank [Pa].
    lift_m : float
        Height of the gauge above the water surface in the cistern [m]; negative when the cistern is higher.
    shutoff_head_m : float
        Head at no flow [m].
    curve_s2_m5 : float
        Fall of head with the square of flow [s2/m5], > 0.
    suction_s2_m5 : float
        Head lost in suction pipe, foot valve and check valve over the square of flow [s2/m5], >= 0.
    density_kg_m3 : float

    Returns
    -------
    float
        Flow [m3/s]; 0 when the pump cannot reach the pressure (the check valve holds).

    Notes
    -----
    H0 - (k + k_s) Q^2 = p/(rho g) + z, solved for Q.

    References
    ----------
    Energy balance from the water surface to the gauge; velocity heads neglected (0.1 psi at 10 gpm in 1 in).

    Examples
    --------
    >>> 1e4 * flow_m3_s(300e3, 2.0, 55.0, 3.0e7, 0.5e7, 1000.0)
    8.00
    """
    spare_m = shutoff_head_m - lift_m - pressure_pa / (density_kg_m3 * GRAVITY_M_S2)
    if spare_m <= 0.0:
        return 0.0
    return math.sqrt(spare_m / (curve_s2_m5 + suction_s2_m5))


@inlined
def efficiency(flow_m3_s: float, best_flow_m3_s: float, best_efficiency: float) -> float:
    """Return the efficiency of a pump away from its best point.

    Parameters
    ----------
    flow_m3_s : float
        Flow [m3/s], >= 0.
    best_flow_m3_s : float
        Flow at the best efficiency point [m3/s], > 0.
    best_efficiency : float
        Efficiency at that flow, 0 to 1; the wire-to-water figure (pump times motor) to get electrical power.

    Returns
    -------
    float
        Efficiency, never below 1 % so that power stays finite.

    Notes
    -----
    eta = eta_best (2x - x^2), x = Q/Q_best. A pump runs over a span of pressures, so the mean efficiency of
    a cycle is below the best one; it comes out of the run, not out of this equation.

    References
    ----------
    Parabola through shut-off and the best point: common practice, no source (grade: assumption).

    Examples
    --------
    >>> efficiency(5e-4, 1e-3, 0.30)
    0.225
    """
    x = flow_m3_s / best_flow_m3_s
    return max(LEAST_EFFICIENCY, best_efficiency * x * (2.0 - x))


@inlined
def speed_ratio(flow_m3_s: float, head_m: float, shutoff_head_m: float, curve_s2_m5: float) -> float:
    """Return the speed at which a pump gives a flow at a head, over its full speed.

    Parameters
    ----------
    flow_m3_s : float
    head_m : float
        Head it is to add [m], > 0.
    shutoff_head_m : float
        Head at no flow and full speed [m].
    curve_s2_m5 : float
        Fall of head with the square of flow [s2/m5], the same at every speed.

    Notes
    -----
    By the affinity laws Q goes as the speed r, H as its square, power as its cube: H = r^2 H0 - k Q^2, solved
    for r. The efficiency at Q is that of the full speed at Q/r.

    References
    ----------
    Affinity laws: 90 % of the speed gives 0.900 of the flow, 0.810 of the head, 0.729 of the power.

    Examples
    --------
    >>> speed_ratio(9e-4, 38.88, 60.0, 12e6)
    0.9
    """
    return math.sqrt((head_m + curve_s2_m5 * flow_m3_s * flow_m3_s) / shutoff_head_m)


@inlined
def electrical_power_w(flow_m3_s: float, head_m: float, density_kg_m3: float, efficiency: float) -> float:
    """Return the power drawn to lift a flow through a head.

    Parameters
    ----------
    flow_m3_s : float
    head_m : float
        Head the pump adds [m].
    density_kg_m3 : float
    efficiency : float
        Wire-to-water efficiency, > 0 to 1.

    Notes
    -----
    P = rho g Q H / eta. With a vanishing flow it tends to a finite value because eta falls with the flow too;
    the inrush of a start is not included.

    References
    ----------
    Definition of hydraulic power.

    Examples
    --------
    >>> electrical_power_w(6e-4, 35.0, 998.2, 0.30)
    685.
    """
    return density_kg_m3 * GRAVITY_M_S2 * flow_m3_s * head_m / efficiency


@compiled
def worst_starts_per_hour(pump_flow_m3_s: float, drawdown_m3: float) -> float:
    """Return the starts per hour at the demand that cycles the pump fastest.

    Parameters
    ----------
    pump_flow_m3_s : float
        Mean flow of the pump between cut-in and cut-out [m3/s].
    drawdown_m3 : float
        Drawdown of the pressure tank [m3], > 0.

    Notes
    -----
    At demand q one cycle lasts V/q + V/(Qp - q); it is shortest, 4 V/Qp, at q = Qp/2.

    References
    ----------
    Derived above. Idaho IDAPA 58.01.08.547 allows a public supply 6 cycles per hour.

    Examples
    --------
    10 gpm on 25 gal of drawdown, in gallons and gallons per second:

    >>> worst_starts_per_hour(10.0 / 60.0, 25.0)
    6.00
    """
    return 3600.0 * pump_flow_m3_s / (4.0 * drawdown_m3)


@compiled
def npsh_available_m(
    atmosphere_pa: float,
    vapour_pressure_pa: float,
    density_kg_m3: float,
    suction_lift_m: float,
    friction_m: float,
) -> float:
    """Return the net positive suction head at the pump inlet.

    Parameters
    ----------
    atmosphere_pa : float
        Absolute pressure on the water surface [Pa].
    vapour_pressure_pa : float
        Vapour pressure of the water, absolute [Pa].
    density_kg_m3 : float
    suction_lift_m : float
        Height of the pump above the water surface [m]; negative when flooded.
    friction_m : float
        Head lost in the suction pipe [m].

    Returns
    -------
    float
        Available NPSH [m]; the pump cavitates when it is below what the pump needs.

    Notes
    -----
    (p_atm - p_v)/(rho g) - z - h_f.

    References
    ----------
    Definition (ISO 17769-1).

    Examples
    --------
    >>> npsh_available_m(101325.0, 2339.3, 998.207, 2.0, 0.5)
    7.61
    """
    return (atmosphere_pa - vapour_pressure_pa) / (density_kg_m3 * GRAVITY_M_S2) - suction_lift_m - friction_m
