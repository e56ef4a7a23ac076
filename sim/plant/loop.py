"""The compiled event loop: taps open and close, the pump starts and stops, power fails and returns.

The loop brings the plant from its own time to a wanted time. Nothing ticks: the next event is the earliest of
a tap opening or closing, a volume-bound draw being full, pressure meeting cut-in or cut-out, the tank running
empty, power going or returning and the lamp being warm; crossings are landed on exactly (`sim.plant.step`).
"""

import math

import numpy as np

from sim.compiled import inlined, lean
from sim.constants import DAY_S
from sim.plant import cause, count, energy, float_valve, gravity, hold, rest, state, step, step_length, tank

_FULL = 1e-9  # a draw is full within this share of its volume
_LONG = 1e30


@lean
def _close(s, p, day, slot, got):
    """Write what a draw had and take it off the list of open taps."""
    i = s.open_draw[slot]
    volume = got[i].coefficient * (s.phi - s.open_phi[slot])
    wanted = got[i].volume_m3
    if math.isinf(wanted):
        wanted = got[i].coefficient * math.sqrt(p.low_tap_pa) * got[i].duration_s
    got[i].got_m3 = volume
    got[i].seconds = s.time_s - got[i].start_s
    if volume < p.served_share * wanted:
        got[i].unmet = 1
        day[state.UNMET] += wanted - volume
        day[state.UNMET_DRAWS] += 1.0
    s.open_count -= 1
    s.open_draw[slot] = s.open_draw[s.open_count]
    s.open_phi[slot] = s.open_phi[s.open_count]


@inlined
def _taps(s, p, day, got):
    """Close the draws that are done, then open those that are due; False when too many stand open."""
    slot = 0
    while slot < s.open_count:
        i = s.open_draw[slot]
        age = s.time_s - got[i].start_s
        wanted = got[i].volume_m3
        full = got[i].coefficient * (s.phi - s.open_phi[slot]) >= wanted * (1.0 - _FULL)
        ends = got[i].duration_s if math.isinf(wanted) else got[i].patience_s
        if full or s.time_s >= got[i].start_s + ends or age >= ends:
            _close(s, p, day, slot, got)
        else:
            slot += 1
    if s.open_count == 0:
        s.phi = 0.0  # keeps the integral short, so that small draws keep their digits
    while s.next_draw < got.size and got[s.next_draw].start_s <= s.time_s:
        if s.open_count >= s.open_draw.size:
            return False
        s.open_draw[s.open_count] = s.next_draw
        s.open_phi[s.open_count] = s.phi
        s.open_count += 1
        s.next_draw += 1
    return True


@lean
def _power(s, p, cuts):
    """Follow power cuts; the lamp starts and warms up anew when power returns."""
    while s.next_cut < cuts.shape[0] and cuts[s.next_cut, 1] <= s.time_s:
        s.next_cut += 1
        s.lamp_starts += p.lamp_works
        s.warm_at_s = s.time_s + p.warm_up_s
    s.power = not (s.next_cut < cuts.shape[0] and cuts[s.next_cut, 0] <= s.time_s)


@lean
def _stop(s, day, pump_log):
    s.pump_on = 0
    pump_log[s.pump_rows, 1] = s.time_s
    length = s.time_s - pump_log[s.pump_rows, 0]
    s.pump_rows += 1
    day[state.LONGEST_RUN] = max(day[state.LONGEST_RUN], length)
    if length < state.SHORT_RUN_S:
        day[state.SHORT_RUNS] += 1.0


@inlined
def _switch(s, p, day, cut_in_m3, cut_out_m3, pump_log):
    """Start or stop the pump: pressure switch, power, breakdown, and the dry-run trip with its hysteresis."""
    if s.cistern_m3 <= p.intake_m3 * (1.0 + 1e-12):
        s.dry = 1
    elif s.dry and s.cistern_m3 >= p.restart_m3:
        s.dry = 0
    works = p.pump_works and s.time_s >= s.pump_from_s
    able = s.power and works and not s.dry
    if s.water_m3 >= cut_out_m3:
        s.why_low = cause.NONE
    if not able:
        s.why_low = gravity.why_low(s, p, works)
    if s.pump_on:
        idle = not p.holds or s.slow_s >= p.stop_delay_s
        if not able or (idle and s.water_m3 >= cut_out_m3):
            _stop(s, day, pump_log)
    elif able and s.water_m3 <= cut_in_m3:
        s.pump_on = 1
        s.slow_s = 0.0
        pump_log[s.pump_rows, 0] = s.time_s
        day[state.STARTS] += 1.0
    return able


@inlined
def _next_event(s, until_s, got, cuts):
    """Return the next known time, the sum of open coefficients, the least phi still wanted by a draw."""
    soon = min(until_s, got[s.next_draw].start_s) if s.next_draw < got.size else until_s
    if s.next_cut < cuts.shape[0]:
        soon = min(soon, cuts[s.next_cut, 0] if s.power else cuts[s.next_cut, 1])
    if s.warm_at_s > s.time_s:
        soon = min(soon, s.warm_at_s)
    if s.pump_from_s > s.time_s:
        soon = min(soon, s.pump_from_s)
    coefficient, phi_left = 0.0, _LONG
    for slot in range(s.open_count):
        i = s.open_draw[slot]
        coefficient += got[i].coefficient
        if math.isinf(got[i].volume_m3):
            soon = min(soon, got[i].start_s + got[i].duration_s)
        else:
            soon = min(soon, got[i].start_s + got[i].patience_s)
            phi_left = min(phi_left, got[i].volume_m3 / got[i].coefficient - (s.phi - s.open_phi[slot]))
    return soon, coefficient, phi_left


@lean
def _polished(guess_s, wanted_m3, filled, water_m3, p, quadratic, on, lift_m, rates, let_in):
    """Newton's method on the length of a step, until the crossing is met to a share of 1e-11 of the tank."""
    dt, change, house, pumped_m3 = guess_s, 0.0, 0.0, 0.0
    for _ in range(6):
        change, house, pumped_m3 = step.step(water_m3, p, quadratic, on, lift_m, dt, rates, let_in)
        miss = wanted_m3 - (house if filled else change)
        if abs(miss) < 1e-11 * p.tank_m3:
            break
        sunk_m = lift_m + (pumped_m3 - let_in * dt) / p.floor_m2
        flow, pumped = step.flows(water_m3 + change, p, quadratic, on, sunk_m)
        rate = flow if filled else pumped - flow
        if rate == 0.0 or dt + miss / rate <= 0.0:
            break
        dt += miss / rate
    return dt, change, house, pumped_m3


@inlined
def _landing(s, p, on, able, lift_m, coefficient, quadratic, rates, phi_left, cut_in_m3, cut_out_m3, dt):
    """Take one step, shortened to the first crossing; return its length, the changes and where it lands."""
    let_in = float_valve.flow_m3_s(s, p)
    change, house, pumped = step.step(s.water_m3, p, quadratic, on, lift_m, dt, rates, let_in)
    water = s.water_m3 + change
    target, landed, shorter = -1.0, -1.0, dt
    if change > 0.0 and on and water >= cut_out_m3:
        target = cut_out_m3
    elif change < 0.0:
        floor = 0.0 if on or not able else cut_in_m3
        if water <= floor:
            target = floor
    if p.most_m3_s < math.inf:
        target = step.bend_m3(s.water_m3, water, target, p, quadratic)
    if target >= 0.0:
        shorter = step.time_to_volume_s(s.water_m3, target, p, quadratic, on, lift_m)
        if not 0.0 <= shorter <= dt:
            shorter = dt * (target - s.water_m3) / change
        landed = target
    filled = False
    if coefficient > 0.0 and house > 0.0 and phi_left * coefficient <= house:
        full = step.time_to_house_s(s.water_m3, phi_left * coefficient, p, quadratic, on, lift_m)
        if not 0.0 <= full <= dt:
            full = dt * phi_left * coefficient / house
        if full <= shorter:
            shorter, landed, filled = full, -1.0, True
    if filled or landed >= 0.0:
        wanted = phi_left * coefficient if filled else landed - s.water_m3
        shorter, change, house, pumped = _polished(
            shorter, wanted, filled, s.water_m3, p, quadratic, on, lift_m, rates, let_in
        )
    if landed >= 0.0 and abs(s.water_m3 + change - landed) > 1e-10 * p.tank_m3:
        landed = -1.0  # not met: go on from where the step ends rather than make or lose water
    return shorter, change, house, pumped, landed, filled


@inlined
def _lift_m(s, p):
    return p.height_m - s.cistern_m3 / p.floor_m2


@inlined
def _gauge_pa(s, p):
    return tank.pressure_pa(s.water_m3, p.tank_m3, p.precharge_pa, p.atmosphere_pa, p.exponent)


@lean
def _past_empty_tank(s, p, quadratic, coefficient, phi_left, longest):
    """Move water straight from the pump to the house for one step; the level sinks, so take its middle."""
    lift_m, dt, let_in = _lift_m(s, p), longest, float_valve.flow_m3_s(s, p)
    first = last = step.direct_pressure_pa(p, quadratic, lift_m)
    begin = end = flow = step.house_flow_m3_s(first, p, quadratic)
    if flow > 0.0:
        for _ in range(2):
            dt = min(longest, phi_left * coefficient / flow, float_valve.until_s(s, p, flow))
            dt = max(dt, float_valve.LEAST_S)
            middle = step.direct_pressure_pa(p, quadratic, lift_m + 0.5 * (flow - let_in) * dt / p.floor_m2)
            flow = step.house_flow_m3_s(middle, p, quadratic)
        last = step.direct_pressure_pa(p, quadratic, lift_m + (flow - let_in) * dt / p.floor_m2)
        end = step.house_flow_m3_s(last, p, quadratic)
    return dt, 0.0, flow * dt, flow * dt, (first, last, begin, end), -1.0, False


@inlined
def _move(s, p, soon, able, coefficient, phi_left, cut_in_m3, cut_out_m3):
    """Move water for one step; return length, volumes, pressures and flows at its ends, where it landed."""
    on, lift_m, dt = s.pump_on, _lift_m(s, p), soon - s.time_s
    quadratic = step.with_taps_pa_s2_m6(p, coefficient)
    if not on:
        dt = min(dt, float_valve.until_s(s, p, 0.0))
    if s.water_m3 <= 0.0:
        if p.gravity:
            return gravity.move(s, p, dt, quadratic, coefficient, phi_left)
        if not on:
            return dt, 0.0, 0.0, 0.0, (0.0, 0.0, 0.0, 0.0), -1.0, False
        pumped = step.pump_flow_m3_s(p.precharge_pa, p, lift_m)
        if pumped < step.house_flow_m3_s(p.precharge_pa, p, quadratic):
            return _past_empty_tank(s, p, quadratic, coefficient, phi_left, dt)
    if p.holds and on and s.water_m3 >= cut_out_m3 and hold.can(s, p, quadratic, lift_m):
        return hold.move(s, p, dt, quadratic, coefficient, phi_left)
    before = _gauge_pa(s, p)
    rates = step.flows(s.water_m3, p, quadratic, on, lift_m)
    if not step_length.is_short(dt, s.water_m3, p, quadratic, on, before, rates):
        longest = step_length.longest_s(s.water_m3, p, quadratic, on, before, rates)
        if on and longest < rest.SETTLES_S:
            found = rest.held(s, p, dt, longest, lift_m, rates, coefficient, phi_left, cut_out_m3)
            if found[0] > 0.0:
                held, change, house = found
                return held, change, house, house + change, (before, before, rates[0], rates[0]), -1.0, False
        dt = min(dt, longest)
    if rates[1] > 0.0:
        dt = min(dt, max(float_valve.until_s(s, p, rates[1]), float_valve.LEAST_S))
    dt, change, house, pumped, landed, filled = _landing(
        s, p, on, able, lift_m, coefficient, quadratic, rates, phi_left, cut_in_m3, cut_out_m3, dt
    )
    after = tank.pressure_pa(s.water_m3 + change, p.tank_m3, p.precharge_pa, p.atmosphere_pa, p.exponent)
    last = step.house_flow_m3_s(after, p, quadratic)
    return dt, change, house, pumped, (before, after, rates[0], last), landed, filled


@lean
def advance(until_s, s, p, got, cuts, days, causes, pump_log, trace):
    """Bring the plant to a wanted time, not past the next midnight: a step is booked to the day it begins in.

    Parameters
    ----------
    until_s : float
        Time to reach [s], not before the plant's own time.
    s : record
        State (`sim.plant.state.STATE`), changed in place.
    p : record
        Plant (`sim.plant.state.PLANT`), constant during the call.
    got : ndarray
        Records of the draws asked for and what they got (`sim.plant.draws.DRAW`).
    cuts : ndarray
        Power cuts, shape (n, 2): start and end [s], sorted, apart from each other.
    days : ndarray
        Day table (`sim.plant.state.new_days`), changed in place.
    causes : ndarray
        Table of causes (`sim.plant.cause.new_causes`), changed in place.
    pump_log : ndarray
        Shape (n, 2): start and stop of pump runs [s].
    trace : ndarray
        Shape (n, 3): time [s], tank pressure [Pa], flow [m3/s] at every step; no rows switches it off.

    Returns
    -------
    int
        `state.OK`, or `state.LOG_FULL` (lengthen the log or trace and call again), or `state.TOO_MANY_OPEN`,
        or `state.TOO_FAST` after more than `state.MOST_STEPS` steps.
    """
    cut_in_m3 = tank.water_m3(p.cut_in_pa, p.tank_m3, p.precharge_pa, p.atmosphere_pa, p.exponent)
    cut_out_m3 = tank.water_m3(p.cut_out_pa, p.tank_m3, p.precharge_pa, p.atmosphere_pa, p.exponent)
    steps = 0
    while s.time_s < until_s:
        steps += 1
        if steps > state.MOST_STEPS:
            return state.TOO_FAST
        at = min(int(s.time_s / DAY_S), days.shape[0] - 1)
        day = days[at]
        if s.pump_rows >= pump_log.shape[0] - 1 or (
            trace.shape[0] > 0 and s.trace_rows >= trace.shape[0] - 1
        ):
            return state.LOG_FULL
        if not _taps(s, p, day, got):
            return state.TOO_MANY_OPEN
        _power(s, p, cuts)
        float_valve.follow(s, p)
        able = _switch(s, p, day, cut_in_m3, cut_out_m3, pump_log)
        soon, coefficient, phi_left = _next_event(s, until_s, got, cuts)
        lit = s.power and p.lamp_works
        warm = lit and s.time_s >= s.warm_at_s
        if not lit:
            s.why_cold = p.why_dark if s.power else cause.POWER_CUT
        held = p.shut or (p.valve and (p.none_bright or not warm))
        total = 0.0 if held else coefficient + p.leak_coefficient
        dt, change, house, pumped, ends, landed, filled = _move(
            s, p, soon, able, total, phi_left, cut_in_m3, cut_out_m3
        )
        if dt <= 0.0:
            dt = 1e-9 * max(1.0, s.time_s * 1e-3)
        asked = 0.0 if held else coefficient
        count.note(s, p, day, causes[at], dt, house, asked, ends, warm, held, got)
        if s.pump_on:
            s.energy_j += energy.of_step_j(p, _lift_m(s, p), pumped, dt, ends[0], ends[1])
            s.run_s += dt
        s.lit_s += dt * lit
        s.peak_flow_m3_s = max(s.peak_flow_m3_s, house / dt)
        s.water_m3 = landed if landed >= 0.0 else s.water_m3 + change
        s.cistern_m3 -= pumped
        s.pumped_m3 += pumped
        float_valve.let_in(s, p, dt)
        s.house_m3 += house
        day[state.SUPPLIED] += house
        if total > 0.0:
            s.phi += phi_left if filled else house / total
        s.time_s = soon if dt >= soon - s.time_s else s.time_s + dt
        if trace.shape[0] > 0:
            trace[s.trace_rows, 0], trace[s.trace_rows, 1] = s.time_s, ends[1]
            trace[s.trace_rows, 2], trace[s.trace_rows, 3] = house / dt, max(ends[2], ends[3])
            s.trace_rows += 1
    return state.OK


def lengthened(table: np.ndarray) -> np.ndarray:
    """Return a log twice as long with the same rows first.

    Parameters
    ----------
    table : ndarray
        Log with at least one row.

    Returns
    -------
    ndarray
        Shape (2 n, columns), zeros after the old rows.
    """
    return np.vstack([table, np.zeros_like(table)])
