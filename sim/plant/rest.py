"""Where a flow comes to rest within a step."""

from sim.compiled import lean
from sim.constants import GRAVITY_M_S2
from sim.plant import suction, tank


@lean
def after_taps(water_m3, p):
    """Let out what stands above the height of the taps: the flow comes to rest within the step.

    With dV/dt = -k sqrt(V) it rests after 2 V / Q: within a step whose middle is past the rest. The middle
    alone would say that nothing flows, and the step would be taken again for ever.

    Parameters
    ----------
    water_m3 : float
        Water in the pressure tank [m3].
    p : record
        Plant record.

    Returns
    -------
    tuple of float
        Change of water, house volume, pumped volume [m3].
    """
    rest_m3 = tank.water_m3(p.static_pa, p.tank_m3, p.precharge_pa, p.atmosphere_pa, p.exponent)
    house = max(water_m3 - rest_m3, 0.0)
    return -house, house, 0.0


@lean
def at_shutoff_head(water_m3, p, lift_m):
    """Let the pump bring the tank to the pressure of its shut-off head: the same, from the other side.

    Parameters
    ----------
    water_m3 : float
        Water in the pressure tank [m3].
    p : record
        Plant record.
    lift_m : float
        Gauge above the water in the cistern [m].

    Returns
    -------
    tuple of float
        Change of water, house volume, pumped volume [m3].
    """
    rest_pa = p.density_kg_m3 * GRAVITY_M_S2 * (suction.rest_head_m(p, lift_m) - lift_m)
    pumped = tank.water_m3(rest_pa, p.tank_m3, p.precharge_pa, p.atmosphere_pa, p.exponent) - water_m3
    return max(pumped, 0.0), 0.0, max(pumped, 0.0)
