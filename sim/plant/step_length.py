"""How long a step may be: a share of the air in the tank, and of the time in which flows settle."""

from sim.compiled import inlined
from sim.constants import GRAVITY_M_S2

SHORTEST_S = 1e-3  # without linear resistance the flow's slope has no bound where the flow comes to rest
START_SHARE = 0.1  # of the house flow: a pump at its shut-off head delivers as much after a few steps
REST_M3_S = 1e-9  # what little flows then is rounding: at most 4 mL in the hour it is followed at once
REST_S = 3600.0
WAKES_S = 0.05  # with the pump on: a level that rises sets it to work again


@inlined
def _delivered(on, house, pumped):
    """Return the pump flow by whose slope a step is judged: at no flow the slope has no bound."""
    return max(pumped, START_SHARE * house) if on else 0.0


@inlined
def longest_s(water_m3, p, quadratic_pa_s2_m6, on, gauge_pa, rates):
    """Return the longest step with a small error: a share of the air volume, and of the relaxation time.

    Parameters
    ----------
    water_m3 : float
        Water in the pressure tank [m3].
    p : record
        Plant record.
    quadratic_pa_s2_m6 : float
        Coefficient of train and open fixtures together [Pa s2/m6].
    on : int
        1 while the pump runs.
    gauge_pa : float
        Gauge pressure at the tank [Pa].
    rates : tuple of float
        House flow and pump flow now [m3/s].

    Returns
    -------
    float
        Step [s], above 0.
    """
    house, pumped = rates
    air_m3 = p.tank_m3 - water_m3
    stiffness = p.exponent * (gauge_pa + p.atmosphere_pa) / air_m3  # dp/dV
    slope = 0.0
    if house > 0.0:
        slope += 1.0 / (p.linear_pa_s_m3 + 2.0 * quadratic_pa_s2_m6 * house)
    delivered = _delivered(on, house, pumped)
    if delivered > 0.0:
        curve = p.curve_s2_m5 + p.suction_s2_m5
        slope += 1.0 / (2.0 * p.density_kg_m3 * GRAVITY_M_S2 * curve * delivered)
    rate = abs(pumped - house)
    if max(pumped, house) < REST_M3_S:
        return WAKES_S if on else REST_S
    step = p.step_share * air_m3 / max(rate, 1e-15)
    return max(min(step, 3.0 * p.step_share / max(stiffness * slope, 1e-15)), SHORTEST_S)


@inlined
def is_short(dt_s, water_m3, p, quadratic_pa_s2_m6, on, gauge_pa, rates):
    """Return whether a step is not beyond the longest, found without a division: most end at an event.

    Parameters
    ----------
    dt_s : float
    water_m3, p, quadratic_pa_s2_m6, on, gauge_pa, rates
        As of `longest_s`.
    """
    house, pumped = rates
    if max(pumped, house) < REST_M3_S:
        return dt_s <= (WAKES_S if on else REST_S)
    changes_m3 = p.step_share * (p.tank_m3 - water_m3)
    if dt_s * abs(pumped - house) > changes_m3:
        return False
    # dp/dV times the sum of the slopes dQ/dp, each one over what is computed here
    stiff, over = dt_s * p.exponent * (gauge_pa + p.atmosphere_pa), 3.0 * changes_m3
    train = p.linear_pa_s_m3 + 2.0 * quadratic_pa_s2_m6 * house
    delivered = _delivered(on, house, pumped)
    if delivered <= 0.0:
        return stiff <= over * train
    curve = p.curve_s2_m5 + p.suction_s2_m5
    machine = 2.0 * p.density_kg_m3 * GRAVITY_M_S2 * curve * delivered
    return stiff <= over * machine if house <= 0.0 else stiff * (train + machine) <= over * train * machine
