"""Pressure, flows and one stretch of quiet time of the second plant, by scipy's event finding."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from tests.second.plain_numbers import GRAVITY, Numbers

RTOL = 1e-10


@dataclass(frozen=True)
class Inputs:
    """What holds still during a stretch."""

    on: bool  # the pump runs
    open: float  # sum of the coefficients that are open, leak included; 0 when water is held
    able: bool  # the pump could start
    mains: float = 0.0  # what flows into the cistern


@dataclass(frozen=True)
class Stretch:
    """A stretch of time: how long, how it ends, and its course."""

    seconds: float
    ending: str  # "", "cut-out", "cut-in", "empty", "full" or "dry"
    course: Any  # seconds -> water in tank, phi, pumped, energy
    pressure: Any  # seconds -> gauge pressure at the tank
    flow: Any  # seconds -> flow to the house


def tank_pressure(n: Numbers, water):
    return (n.precharge + n.air) * (n.tank / (n.tank - water)) ** n.exponent - n.air


def tank_water(n: Numbers, pressure):
    if pressure <= n.precharge:
        return 0.0
    return n.tank - n.tank * ((n.precharge + n.air) / (pressure + n.air)) ** (1.0 / n.exponent)


def house_flow(n: Numbers, pressure, opened):
    drive = pressure - n.static
    if opened <= 0.0 or drive <= 0.0:
        return 0.0
    b = n.quadratic + opened**-2
    return min((math.sqrt(n.linear**2 + 4.0 * b * drive) - n.linear) / (2.0 * b), n.most)


def pump_flow(n: Numbers, pressure, cistern):
    lift = n.height - cistern / n.floor
    asked = lift + pressure / (n.density * GRAVITY)
    spare = n.shutoff_head - asked
    most = math.sqrt(spare / n.curve) if spare > 0.0 else 0.0
    if most == 0.0 or n.air_head - lift - n.suction_curve * most**2 >= n.needed / (1.0 - 0.03**0.5):
        return most

    def over(flow):
        """Head the cavitating pump gives beyond what is asked of it."""
        drop = n.suction_curve * flow**2
        share = min(max((n.air_head - lift - drop) / n.needed * (1.0 - 0.03**0.5), 0.0), 1.0)
        kept = share * (2.0 - share)
        return kept * (n.shutoff_head - n.pump_curve * flow**2) - asked - drop

    return brentq(over, 0.0, most, xtol=1e-16, rtol=1e-14) if over(0.0) > 0.0 else 0.0


def pump_power(n: Numbers, flow):
    share = flow / n.best_flow
    efficiency = max(0.01, n.best_efficiency * share * (2.0 - share))
    return n.density * GRAVITY * flow * (n.shutoff_head - n.pump_curve * flow**2) / efficiency / n.drive


def held_power(n: Numbers, flow, cistern):
    """Power at the speed that gives a flow at cut-out: the point moved up the parabola through it.

    Points that go over into each other with the speed lie on H/Q^2 = constant; at full speed the point is
    where that parabola meets the curve.
    """
    if flow == 0.0:
        return 0.0
    asked = n.cut_out / (n.density * GRAVITY) + n.height - cistern / n.floor + n.suction_curve * flow**2
    full = math.sqrt(n.shutoff_head / (asked / flow**2 + n.pump_curve))
    return pump_power(n, full) * (flow / full) ** 3


def to_level(n: Numbers, inputs: "Inputs", cistern):
    """Levels of the cistern at which something changes: what happens there, the level, and which way."""
    found = []
    if inputs.on:
        found.append(("dry", n.intake, -1))
    if n.mains and not inputs.mains and cistern > n.mains_below:
        found.append(("opens", n.mains_below, -1))
    if inputs.mains:
        found.append(("shuts", n.mains_until, 1))
        if cistern < n.restart * (1.0 - 1e-12):
            found.append(("clears", n.restart, 1))
    return found


def held(n: Numbers, inputs: "Inputs", cistern, wanted_phi, horizon, patience):
    """A stretch in which the pump holds cut-out and gives what the house takes; None where it cannot."""
    flow = house_flow(n, n.cut_out, inputs.open)
    if flow > pump_flow(n, n.cut_out, cistern):
        return None
    ends = {"": horizon}
    if flow < n.least_flow_held:
        ends["idle"] = patience
    if flow > 0.0:
        ends |= _even(to_level(n, inputs, cistern), cistern, inputs.mains - flow)
        ends["full"] = wanted_phi * inputs.open / flow
    ending = min(ends, key=ends.get)
    full = tank_water(n, n.cut_out)

    def course(s):
        energy = quad(lambda t: held_power(n, flow, cistern + (inputs.mains - flow) * t), 0.0, s)[0]
        return np.array([full, flow * s / inputs.open if inputs.open else 0.0, flow * s, energy])

    return Stretch(ends[ending], ending, course, lambda _s: n.cut_out, lambda _s: flow)


def _even(levels, cistern, rate):
    """Times at which levels are met at an even rate."""
    return {name: (level - cistern) / rate for name, level, way in levels if rate * way > 0.0}


def past_empty_tank(n: Numbers, cistern, opened):
    """Pressure at which the pump feeds the house when the tank is empty, or None when it can fill it."""
    if pump_flow(n, n.precharge, cistern) >= house_flow(n, n.precharge, opened):
        return None

    def spare(pressure):
        return pump_flow(n, pressure, cistern) - house_flow(n, pressure, opened)

    return brentq(spare, 0.0, n.precharge, xtol=1e-9) if spare(0.0) > 0.0 else 0.0


def _still(n, inputs, water, cistern, pressure, horizon):
    course = np.array([water, 0.0, 0.0, 0.0])
    ends = {"": horizon} | _even(to_level(n, inputs, cistern), cistern, inputs.mains)
    ending = min(ends, key=ends.get)
    return Stretch(ends[ending], ending, lambda _s: course, lambda _s: pressure, lambda _s: 0.0)


def _terminal(function, direction, name):
    function.terminal, function.direction, function.called = True, direction, name
    return function


def _crossings(n, inputs, water, cistern, wanted_phi, fixed):
    found = []
    for name, level, way in to_level(n, inputs, cistern):
        above = cistern - level
        found.append(_terminal(lambda t, y, a=above: a - y[2] + inputs.mains * t, way, name))
    if inputs.on and not fixed:
        full = tank_water(n, n.cut_out)
        found.append(_terminal(lambda _t, y: y[0] - full, 1, "cut-out"))
    if not fixed and inputs.able and not inputs.on:
        least = tank_water(n, n.cut_in)
        found.append(_terminal(lambda _t, y: y[0] - least, -1, "cut-in"))
    elif not fixed and water > 0.0:
        found.append(_terminal(lambda _t, y: y[0], -1, "empty"))
    if math.isfinite(wanted_phi):
        found.append(_terminal(lambda _t, y: y[1] - wanted_phi, 1, "full"))
    return found


def stretch(n: Numbers, inputs: Inputs, water, cistern, wanted_phi, horizon):
    """Integrate until something of the plant's own happens, at most a horizon."""
    fixed = False
    if water <= 0.0:
        fixed = not inputs.on or past_empty_tank(n, cistern, inputs.open) is not None
        if not inputs.on:
            return _still(n, inputs, 0.0, cistern, 0.0, horizon)
    if not inputs.on and house_flow(n, tank_pressure(n, water), inputs.open) == 0.0:
        return _still(n, inputs, water, cistern, tank_pressure(n, water), horizon)

    def pressure_of(t, y):
        if fixed:
            return past_empty_tank(n, cistern - y[2] + inputs.mains * t, inputs.open)
        return tank_pressure(n, y[0])

    def rates(t, y):
        pressure = pressure_of(t, y)
        pumped = pump_flow(n, pressure, cistern - y[2] + inputs.mains * t) if inputs.on else 0.0
        flow = house_flow(n, pressure, inputs.open)
        if fixed:
            pumped = flow
        phi = flow / inputs.open if inputs.open > 0.0 else 0.0
        return [pumped - flow, phi, pumped, pump_power(n, pumped) if inputs.on else 0.0]

    crossings = _crossings(n, inputs, water, cistern, wanted_phi, fixed)
    found = solve_ivp(
        rates,
        (0.0, horizon),
        [water, 0.0, 0.0, 0.0],
        "DOP853",
        rtol=RTOL,
        atol=[1e-13, 1e-7, 1e-13, 1e-4],
        events=crossings,
        dense_output=True,
    )
    assert found.status >= 0, found.message
    ending = ""
    for crossing, times in zip(crossings, found.t_events, strict=True):
        if len(times):
            ending = crossing.called
    return Stretch(
        float(found.t[-1]),
        ending,
        found.sol,
        lambda s: pressure_of(s, found.sol(s)),
        lambda s: house_flow(n, pressure_of(s, found.sol(s)), inputs.open),
    )
