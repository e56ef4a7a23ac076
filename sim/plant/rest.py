"""Where a flow comes to rest within a step, and a pump that is held where it just feeds what flows."""

from sim.compiled import inlined, lean
from sim.constants import GRAVITY_M_S2
from sim.plant import float_valve, suction, tank

# A pump that feeds a leak near its shut-off head settles in milliseconds, and would be followed in them: all
# day. Where it settles more slowly, a day in steps is within what is followed (`sim.plant.state.MOST_STEPS`).
SETTLES_S, HELD_S = 0.1, 10.0
TANK_SHARE, DRAINED_SHARE = 0.05, 1e-3  # of what flows, that may go into the tank; of the tank, out of it
NEAR_SHARE = 1e-4  # of the tank, that may go into it at once: some 100 Pa
DRAW_SETTLES_S = 0.003  # while a tap is open
DRAW_SHARE = 0.05  # of the flow of a draw, that pump and house may differ by
NOT_HELD = (-1.0, 0.0, 0.0)


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


@lean
def held(s, p, dt_s, settles_s, lift_m, rates, coefficient, phi_left, cut_out_m3):
    """Hold the pump for a while where it just feeds what flows, if it does.

    Parameters
    ----------
    s, p : record
        State and plant records.
    dt_s : float
        Longest time [s].
    settles_s : float
        Longest step in which what flows is followed [s].
    lift_m : float
        Gauge above the water in the cistern [m].
    rates : tuple of float
        House flow and pump flow now [m3/s].
    coefficient : float
        Sum of the coefficients of open fixtures and leak [m3/s/Pa^0.5].
    phi_left : float
        What the first of them still wants [Pa^0.5 s].
    cut_out_m3 : float
        Water in the tank at which the pump stops [m3].

    Returns
    -------
    tuple of float
        Time [s], change of water and house volume [m3]; the time is negative where it is not held.
    """
    house_m3_s, pumped_m3_s = rates
    alone = coefficient <= p.leak_coefficient  # every tap is shut
    near = pumped_m3_s > 0.0 and abs(pumped_m3_s - house_m3_s) < DRAW_SHARE * house_m3_s
    if not alone and (settles_s >= DRAW_SETTLES_S or not near):
        return NOT_HELD
    held_s = min(dt_s, HELD_S)
    if house_m3_s > 0.0:
        most_m3 = DRAINED_SHARE * p.tank_m3 if alone else phi_left * coefficient
        held_s = min(held_s, most_m3 / house_m3_s)
    held_s = max(min(held_s, float_valve.until_s(s, p, house_m3_s)), float_valve.LEAST_S)
    if alone:
        return _fed(s, p, held_s, lift_m, house_m3_s, cut_out_m3)
    return held_s, 0.0, house_m3_s * held_s


@inlined
def _fed(s, p, held_s, lift_m, house_m3_s, cut_out_m3):
    """Let the tank follow the balance while only a leak flows: the level sinks, and the balance with it.

    The leak is taken as it is: near balance the pressure hardly moves. Above it the pump gives nothing, and
    the tank feeds the leak until it is there.
    """
    house = house_m3_s * held_s
    sunk_m = lift_m + (house - float_valve.flow_m3_s(s, p) * held_s) / p.floor_m2
    gauge_pa = p.density_kg_m3 * GRAVITY_M_S2 * suction.over_water_m(house_m3_s, sunk_m, p)
    balance = tank.water_m3(gauge_pa, p.tank_m3, p.precharge_pa, p.atmosphere_pa, p.exponent)
    change = max(balance - s.water_m3, -house, -s.water_m3)
    if change < TANK_SHARE * house + NEAR_SHARE * p.tank_m3 and s.water_m3 + change < cut_out_m3:
        return held_s, change, house
    return NOT_HELD
