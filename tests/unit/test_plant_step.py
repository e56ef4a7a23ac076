"""Steps of the pressure side one by one: how long they may be, and where a crossing is looked for first."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from sim.plant import step, step_length

GPM, PSI = 6.309e-5, 6894.757


def setting(plant, plain, coefficient, gauge_psi, on, **over):
    """Return a plant at a pressure, the same written anew, and the arguments of a step."""
    bare = plant(**over)
    bare.s["water_m3"] = bare.water_m3(gauge_psi * PSI)
    other = plain(bare, coefficient)
    water = float(bare.s["water_m3"][0])
    return bare.p[0], other, (water, step.with_taps_pa_s2_m6(bare.p[0], coefficient), on, other.lift_m)


def rates(other, water, on):
    return other.house(water), other.pump(water) if on else 0.0


@pytest.mark.parametrize(("gpm", "gauge_psi", "on"), [(2.0, 55.0, 0), (0.5, 45.0, 1), (18.0, 50.0, 1)])
def test_the_time_to_a_volume_is_that_of_the_equation(plant, plain, tap, gpm, gauge_psi, on):
    p, other, (water, quadratic, on, lift_m) = setting(plant, plain, tap(gpm), gauge_psi, on)
    house, pumped = rates(other, water, on)
    change = math.copysign(2e-3 * p["tank_m3"], pumped - house)
    # dt/dV integrated by another code to 1e-12; Simpson's rule errs by less than 1e-6 over so short a way
    found = solve_ivp(
        lambda v, _t: [1.0 / ((other.pump(v) if on else 0.0) - other.house(v))],
        (water, water + change),
        [0.0],
        rtol=1e-12,
        atol=1e-12,
    )
    seconds = step.time_to_volume_s(water, water + change, p, quadratic, on, lift_m)
    assert seconds == pytest.approx(found.y[0, -1], rel=1e-6)
    assert seconds > 0.0


@pytest.mark.parametrize(("gpm", "gauge_psi", "on"), [(2.0, 55.0, 0), (0.5, 45.0, 1), (18.0, 50.0, 1)])
def test_the_time_to_a_draw_is_that_of_the_equation(plant, plain, tap, gpm, gauge_psi, on):
    p, other, (water, quadratic, on, lift_m) = setting(plant, plain, tap(gpm), gauge_psi, on)
    house, pumped = rates(other, water, on)
    # as much as a step of the loop may turn over: a small share of the tank, whichever way it moves
    wanted = 3e-3 * float(p["tank_m3"]) / max(1.0, abs(pumped / house - 1.0))

    def along(_w, y):
        house, pumped = rates(other, y[0], on)
        return [pumped / house - 1.0, 1.0 / house]

    found = solve_ivp(along, (0.0, wanted), [water, 0.0], rtol=1e-12, atol=1e-15)
    seconds = step.time_to_house_s(water, wanted, p, quadratic, on, lift_m)
    assert seconds == pytest.approx(found.y[1, -1], rel=1e-6)


def slope(other, p, water, on):
    """Change of net flow with water in the tank [1/s], by central differences."""
    span = 1e-6 * float(p["tank_m3"])

    def net(at):
        house, pumped = rates(other, at, on)
        return pumped - house

    return abs(net(water + span) - net(water - span)) / (2 * span)


@pytest.mark.parametrize(("gpm", "gauge_psi", "on"), [(2.0, 55.0, 0), (6.0, 45.0, 1), (0.05, 41.0, 0)])
@pytest.mark.parametrize("exponent", [1.0, 1.4])
def test_a_step_is_a_share_of_the_air_or_of_the_relaxation(plant, plain, tap, gpm, gauge_psi, on, exponent):
    over = {"exponent": exponent, "step_share": 0.02}
    p, other, (water, quadratic, on, _) = setting(plant, plain, tap(gpm), gauge_psi, on, **over)
    house, pumped = rates(other, water, on)
    gauge = other.gauge(water)
    found = step_length.longest_s(water, p, quadratic, on, gauge, (house, pumped))
    air = 0.02 * (float(p["tank_m3"]) - water) / abs(pumped - house)
    relaxing = 3.0 * 0.02 / slope(other, p, water, on)
    assert found == pytest.approx(min(air, relaxing), rel=1e-4)


def test_a_balance_of_pump_and_tap_is_followed_by_its_relaxation(plant, plain, tap):
    # Where pump and taps balance nothing moves, and the share of the air alone would allow any step.
    p, other, (water, quadratic, on, _) = setting(plant, plain, tap(14.0), 50.0, 1, tank_m3=0.012)
    water = next(
        v for v in np.linspace(0.0, 0.9 * float(p["tank_m3"]), 20_001) if other.pump(v) <= other.house(v)
    )
    house, pumped = rates(other, water, on)
    found = step_length.longest_s(water, p, quadratic, on, other.gauge(water), (house, pumped))
    assert found == pytest.approx(3.0 * float(p["step_share"]) / slope(other, p, water, on), rel=1e-3)


@pytest.mark.parametrize(("gpm", "on"), [(0.0, 0), (0.0, 1), (1e-7, 0), (2.0, 0), (6.0, 1), (14.0, 1)])
def test_a_step_is_short_up_to_the_longest(plant, plain, tap, gpm, on):
    p, other, (water, quadratic, on, _) = setting(plant, plain, tap(gpm), 50.0, on, tank_m3=0.05)
    here = (water, p, quadratic, on, other.gauge(water), rates(other, water, on))
    longest = step_length.longest_s(*here)
    source = (water, np.array(p).view(np.recarray)[()], *here[2:])  # reads fields as attributes
    for share, short in ((1e-3, True), (1.0 - 1e-9, True), (1.0 + 1e-9, False), (1e3, False)):
        assert step_length.is_short(share * longest, *here) == short
        assert step_length.is_short.py_func(share * longest, *source) == short


@pytest.mark.parametrize(("seconds", "order"), [(1e-3, "midpoint"), (4.0, "four")])
def test_one_step_is_near_the_equation(plant, plain, tap, seconds, order):
    p, other, (water, quadratic, on, lift_m) = setting(plant, plain, tap(3.0), 48.0, 1)

    def along(_t, y):
        house, pumped = rates(other, y[0], 1)
        return [pumped - house, house, pumped]

    found = solve_ivp(along, (0.0, seconds), [water, 0.0, 0.0], rtol=1e-12, atol=1e-16).y[:, -1]
    change, house, pumped = step.step(water, p, quadratic, on, lift_m, seconds, rates(other, water, 1))
    air = float(p["tank_m3"]) - water
    # the midpoint rule may err by 2.5e-7 of the air; of order four, 2 % of the air at a time, by far less
    within = (2.5e-7 if order == "midpoint" else 1e-8) * air
    assert change == pytest.approx(found[0] - water, abs=within)
    assert house == pytest.approx(found[1], abs=within)
    assert pumped == pytest.approx(found[2], abs=within)
    assert change == pytest.approx(pumped - house, abs=1e-18)


def test_the_last_bin_of_dose_holds_all_above():
    assert step.dose_bin(1e30, 0.1, 20, 122) == 121
    assert step.dose_bin(0.0999, 0.1, 20, 122) == 0
    assert step.dose_bin(0.1, 0.1, 20, 122) == 1


def test_a_pump_comes_to_rest_at_its_shutoff_head(plant, plain, tap):
    """Independent: the water at which the pump delivers nothing, by bisection; it is met within one step."""
    p, other, (water, quadratic, on, lift_m) = setting(plant, plain, 0.0, 48.0, 1)
    low, high = water, float(p["tank_m3"])
    for _ in range(200):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if other.pump(middle) > 0.0 else (low, middle)
    begin = low - 1e-12
    house, pumped = step.flows(begin, p, quadratic, on, lift_m)
    change, _, moved = step.step(begin, p, quadratic, on, lift_m, 1e-3, (house, pumped))
    assert pumped > 0.0
    assert change == moved == pytest.approx(low - begin, abs=1e-14)
