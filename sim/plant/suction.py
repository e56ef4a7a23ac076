"""What a pump still gives when it has less suction head than it needs: it cavitates."""

import math
from typing import Any

from sim.compiled import inlined, lean
from sim.constants import GRAVITY_M_S2
from sim.plant import pump

AT_NEED = 0.03  # of the head is gone where the suction head is just what the pump needs, by definition
AMPLE = 1.0 / (1.0 - math.sqrt(AT_NEED))  # times what it needs: from there on nothing is gone
_HALVINGS = 50  # of the flow, down to rounding


@inlined
def head_left(available_m: float, required_m: float) -> float:
    """Return the share of its head a pump keeps at a suction head.

    Parameters
    ----------
    available_m, required_m : float
        Net positive suction head there is, and that the pump needs [m].

    Returns
    -------
    float
        Share, 0 to 1; 1 where there is 1.21 times what it needs, or more.

    Notes
    -----
    1 - (1 - x/x0)^2, x = available/required: the parabola that is level with the full head at x0, has lost
    3 % of it at x = 1 and all of it at x = 0, where water boils at the inlet: x0 = 1/(1 - sqrt(0.03)) = 1.21.

    References
    ----------
    3 %: definition of NPSH3 in ISO 9906 (from memory). That it is a parabola: assumption; practice asks for
    1.1 to 2.5 times what is required, depending on flow (quoted of ANSI/HI 9.6.1).

    Examples
    --------
    >>> head_left(3.0, 3.0)
    0.97
    """
    if available_m >= AMPLE * required_m:
        return 1.0
    if available_m <= 0.0:
        return 0.0
    missing = 1.0 - available_m / (AMPLE * required_m)
    return 1.0 - missing * missing


@inlined
def flow_m3_s(pressure_pa: float, lift_m: float, p: Any) -> float:
    """Return the flow of the running pump against a gauge pressure, with the suction head there is.

    Parameters
    ----------
    pressure_pa : float
        Gauge pressure at the tank [Pa].
    lift_m : float
        Gauge, and pump, above the water in the cistern [m].
    p : record
        Plant record (`sim.plant.state.PLANT`).

    Notes
    -----
    f (H0 - k Q^2) = p/(rho g) + z + k_s Q^2, with f = `head_left` at what is left of the air's head over
    vapour: h - z - k_s Q^2.
    """
    ample = pump.flow_m3_s(
        pressure_pa, lift_m, p.shutoff_head_m, p.curve_s2_m5, p.suction_s2_m5, p.density_kg_m3
    )
    if p.air_head_m - lift_m - p.suction_s2_m5 * ample * ample >= AMPLE * p.npsh_required_m:
        return ample
    return _starved_m3_s(pressure_pa, lift_m, p, ample)


@lean
def _starved_m3_s(pressure_pa: float, lift_m: float, p: Any, ample: float) -> float:
    """Halve the way between no flow and that of ample suction: what is asked rises, what is left falls."""
    low, high = 0.0, ample
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if over_water_m(middle, lift_m, p) > pressure_pa / (p.density_kg_m3 * GRAVITY_M_S2):
            low = middle
        else:
            high = middle
    return low if low > 1e-12 * ample else 0.0


@inlined
def over_water_m(flow_m3_s: float, lift_m: float, p: Any) -> float:
    """Return the head behind the running pump at a flow, over the gauge: what it gives less what is lost.

    Parameters
    ----------
    flow_m3_s : float
    lift_m : float
        Gauge, and pump, above the water in the cistern [m].
    p : record
        Plant record.

    Returns
    -------
    float
        Head [m]; negative where the pump does not lift as far.
    """
    lost_m = lift_m + p.suction_s2_m5 * flow_m3_s * flow_m3_s
    left = head_left(p.air_head_m - lost_m, p.npsh_required_m)
    return float(left * pump.head_m(flow_m3_s, p.shutoff_head_m, p.curve_s2_m5) - lost_m)


@lean
def rest_head_m(p: Any, lift_m: float) -> float:
    """Return the head of the pump against a shut pipe, with the suction head there is.

    Parameters
    ----------
    p : record
        Plant record.
    lift_m : float
        Pump above the water in the cistern [m].
    """
    return float(head_left(p.air_head_m - lift_m, p.npsh_required_m) * p.shutoff_head_m)
