"""One step of the pressure side between two events: flows, a Runge-Kutta step, landing on a crossing.

Between events the water in the pressure tank follows dV/dt = Q_pump(p(V)) - Q_house(p(V)), one autonomous
equation. Three integrals are carried with the same weights, so water is conserved to rounding: V, the pumped
volume, and phi = integral of sqrt(tap pressure), from which every open fixture has had K * phi. To land on a
crossing the independent variable is exchanged (Henon 1982, Physica D 5:412): dt/dV or dt/dphi is stepped to
the wanted value.
"""

import math

from sim.compiled import inlined, lean
from sim.plant import rest, suction, tank, train

# Of the air volume: below it the midpoint rule will do, as long as the flows hardly change on the way. It
# errs by a sixth of the change of the change, which is held to the square of this share, 2.5e-7 of the air.
SMALL_SHARE = 5e-4


@inlined
def with_taps_pa_s2_m6(p, coefficient):
    """Return the quadratic coefficient of train and open fixtures together.

    Parameters
    ----------
    p : record
        Plant record (`sim.plant.state.PLANT`).
    coefficient : float
        Sum of the open fixtures' coefficients [m3/s/Pa^0.5]; 0 when all are shut.

    Returns
    -------
    float
        Coefficient [Pa s2/m6], infinite when all taps are shut.
    """
    if coefficient <= 0.0:
        return math.inf
    return p.quadratic_pa_s2_m6 + 1.0 / (coefficient * coefficient)


@inlined
def house_flow_m3_s(pressure_pa, p, quadratic_pa_s2_m6):
    """Return the flow through the train into the open fixtures.

    Parameters
    ----------
    pressure_pa : float
        Gauge pressure at the tank [Pa].
    p : record
        Plant record (`sim.plant.state.PLANT`).
    quadratic_pa_s2_m6 : float
        Of train and open fixtures together [Pa s2/m6]; infinite gives no flow.
    """
    free = train.flow_m3_s(pressure_pa - p.static_pa, p.linear_pa_s_m3, quadratic_pa_s2_m6)
    if free > p.most_m3_s:
        return p.most_m3_s
    return free


@lean
def bend_m3(before_m3, after_m3, target_m3, p, quadratic_pa_s2_m6):
    """Return where a step is to land: where a restrictor begins to hold the flow, if that is first.

    Parameters
    ----------
    before_m3, after_m3 : float
        Water in the tank at the ends of the step [m3].
    target_m3 : float
        Water at which it would land else [m3]; negative for none.
    p : record
        Plant record, whose `most_m3_s` is finite.
    quadratic_pa_s2_m6 : float
        Coefficient of train and open fixtures together [Pa s2/m6]; infinite when all taps are shut.
    """
    drop_pa = p.most_m3_s * (p.linear_pa_s_m3 + quadratic_pa_s2_m6 * p.most_m3_s)
    bend = tank.water_m3(p.static_pa + drop_pa, p.tank_m3, p.precharge_pa, p.atmosphere_pa, p.exponent)
    if (before_m3 - bend) * (after_m3 - bend) >= 0.0:
        return target_m3
    first = target_m3 < 0.0 or (bend - target_m3) * (bend - before_m3) < 0.0
    return bend if first else target_m3


@inlined
def pump_flow_m3_s(pressure_pa, p, lift_m):
    """Return the flow of the running pump against a tank pressure.

    Parameters
    ----------
    pressure_pa : float
        Gauge pressure at the tank [Pa].
    p : record
        Plant record.
    lift_m : float
        Gauge above the water in the cistern [m].
    """
    return suction.flow_m3_s(pressure_pa, lift_m, p)


@inlined
def flows(water_m3, p, quadratic_pa_s2_m6, on, lift_m):
    """Return house flow and pump flow at a water volume in the tank.

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
    lift_m : float
        Gauge above the water in the cistern [m].
    """
    pressure_pa = tank.pressure_pa(water_m3, p.tank_m3, p.precharge_pa, p.atmosphere_pa, p.exponent)
    pumped = pump_flow_m3_s(pressure_pa, p, lift_m) if on else 0.0
    return house_flow_m3_s(pressure_pa, p, quadratic_pa_s2_m6), pumped


@inlined
def step(water_m3, p, quadratic_pa_s2_m6, on, lift_m, dt_s, rates, let_in_m3_s=0.0):
    """Advance the tank by one classical Runge-Kutta step (order 4), or by the midpoint rule when it is small.

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
    lift_m : float
        Gauge above the water in the cistern at the start [m]; the level sinks by what is pumped, less what
        is let in.
    dt_s : float
    rates : tuple of float
        House flow and pump flow at the start [m3/s].
    let_in_m3_s : float
        Flow into the cistern meanwhile [m3/s].

    Returns
    -------
    tuple of float
        Change of water, house volume, pumped volume [m3].
    """
    h1, q1 = rates
    sinking = dt_s / p.floor_m2  # of the level in the cistern, per net flow out of it
    half = lift_m + 0.5 * sinking * (q1 - let_in_m3_s)
    h2, q2 = flows(water_m3 + 0.5 * dt_s * (q1 - h1), p, quadratic_pa_s2_m6, on, half)
    if h1 > 0.0 and h2 == 0.0 and not on:
        return rest.after_taps(water_m3, p)
    if q1 > 0.0 and q2 == 0.0 and h1 == 0.0:
        return rest.at_shutoff_head(water_m3, p, lift_m)
    small_m3 = SMALL_SHARE * (p.tank_m3 - water_m3)
    turn_m3 = abs((q2 - h2) - (q1 - h1)) * dt_s
    if abs(q1 - h1) * dt_s < small_m3 and turn_m3 < SMALL_SHARE * small_m3:
        return dt_s * (q2 - h2), dt_s * h2, dt_s * q2
    half = lift_m + 0.5 * sinking * (q2 - let_in_m3_s)
    h3, q3 = flows(water_m3 + 0.5 * dt_s * (q2 - h2), p, quadratic_pa_s2_m6, on, half)
    end = lift_m + sinking * (q3 - let_in_m3_s)
    h4, q4 = flows(water_m3 + dt_s * (q3 - h3), p, quadratic_pa_s2_m6, on, end)
    house = dt_s * (h1 + 2.0 * (h2 + h3) + h4) / 6.0
    pumped = dt_s * (q1 + 2.0 * (q2 + q3) + q4) / 6.0
    return pumped - house, house, pumped


@lean
def _slowness(water_m3, p, quadratic_pa_s2_m6, on, lift_m):
    house, pumped = flows(water_m3, p, quadratic_pa_s2_m6, on, lift_m)
    return 1.0 / (pumped - house)


@lean
def time_to_volume_s(water_m3, wanted_m3, p, quadratic_pa_s2_m6, on, lift_m):
    """Return the time until the tank holds a wanted volume (one Runge-Kutta step of dt/dV).

    Parameters
    ----------
    water_m3 : float
        Water in the pressure tank [m3].
    wanted_m3 : float
        Volume to land on [m3].
    p, quadratic_pa_s2_m6, on, lift_m
        As of `step`.

    Returns
    -------
    float
        Time [s]; not finite or negative when the volume is not met on the way.
    """
    span = wanted_m3 - water_m3
    first = _slowness(water_m3, p, quadratic_pa_s2_m6, on, lift_m)
    middle = _slowness(water_m3 + 0.5 * span, p, quadratic_pa_s2_m6, on, lift_m)
    last = _slowness(wanted_m3, p, quadratic_pa_s2_m6, on, lift_m)
    return span * (first + 4.0 * middle + last) / 6.0


@lean
def time_to_house_s(water_m3, wanted_m3, p, quadratic_pa_s2_m6, on, lift_m):
    """Return the time until the fixtures have had a wanted volume (one Runge-Kutta step of dV/dW and dt/dW).

    Parameters
    ----------
    water_m3 : float
        Water in the pressure tank [m3].
    wanted_m3 : float
        Volume through the train [m3].
    p, quadratic_pa_s2_m6, on, lift_m
        As of `step`.

    Returns
    -------
    float
        Time [s]; not finite when nothing flows.
    """
    h1, q1 = flows(water_m3, p, quadratic_pa_s2_m6, on, lift_m)
    h2, q2 = flows(water_m3 + 0.5 * wanted_m3 * (q1 / h1 - 1.0), p, quadratic_pa_s2_m6, on, lift_m)
    h3, q3 = flows(water_m3 + 0.5 * wanted_m3 * (q2 / h2 - 1.0), p, quadratic_pa_s2_m6, on, lift_m)
    h4, _ = flows(water_m3 + wanted_m3 * (q3 / h3 - 1.0), p, quadratic_pa_s2_m6, on, lift_m)
    return wanted_m3 * (1.0 / h1 + 2.0 / h2 + 2.0 / h3 + 1.0 / h4) / 6.0


@lean
def direct_pressure_pa(p, quadratic_pa_s2_m6, lift_m):
    """Return the pressure at which the pump feeds the house past an empty tank.

    Parameters
    ----------
    p : record
        Plant record.
    quadratic_pa_s2_m6 : float
        Coefficient of train and open fixtures together [Pa s2/m6].
    lift_m : float
        Gauge above the water in the cistern [m].

    Returns
    -------
    float
        Gauge pressure [Pa], 0 to the precharge; the root of Q_pump = Q_house by bisection to 1e-4 Pa.
    """
    low, high = 0.0, p.precharge_pa
    while high - low > 1e-4:
        middle = 0.5 * (low + high)
        if pump_flow_m3_s(middle, p, lift_m) > house_flow_m3_s(middle, p, quadratic_pa_s2_m6):
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


@inlined
def dose_bin(dose_j_m2, low_j_m2, per_decade, bins):
    """Return the bin of a dose in the log-spaced histogram.

    Parameters
    ----------
    dose_j_m2 : float
        Delivered dose [J/m2].
    low_j_m2 : float
        Lower edge of bin 1 [J/m2]; bin 0 holds all below.
    per_decade : int
    bins : int
        Number of bins; the last holds all above.

    Returns
    -------
    int
        Index, 0 to bins - 1.
    """
    if dose_j_m2 < low_j_m2:
        return 0
    return min(1 + int(per_decade * math.log10(dose_j_m2 / low_j_m2)), bins - 1)
