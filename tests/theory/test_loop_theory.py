"""The loop against closed forms and an independent integration (scipy), without its equations."""

import math

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp

from sim.twin.water.unpack import STEP_SHARE

INF = math.inf
PSI, GALLON = 6894.757293168361, 3.785411784e-3
FINE = 0.01  # share of the air volume a step; the default is held to 1e-6 below


def _drain(plain, start_m3, until_s):
    def empty(_t, y):
        return y[0]

    empty.terminal, empty.direction = True, -1
    return solve_ivp(
        lambda _t, y: [-plain.house(y[0])],
        (0.0, until_s),
        [start_m3],
        "DOP853",
        rtol=1e-12,
        atol=1e-15,
        events=empty,
        max_step=5.0,
        dense_output=True,
    )


@pytest.mark.parametrize(("share", "rtol"), [(FINE, 1e-8), (STEP_SHARE, 1e-6)])
@pytest.mark.parametrize("exponent", [1.0, 1.2])
@pytest.mark.parametrize("gpm", [1.5, 6.0])
def test_a_tank_alone_empties_as_scipy_says(plant, plain, tap, share, rtol, exponent, gpm):
    bare = plant(pump_works=0, step_share=share, exponent=exponent)
    k, start = tap(gpm), float(bare.s["water_m3"][0])
    found = _drain(plain(bare, k), start, 1e5)
    empty_s = float(found.t_events[0][0])
    bare.draw([[0.0, k, 2.0 * empty_s, INF]]).run(0.4 * empty_s)
    assert bare.s["water_m3"][0] == pytest.approx(found.sol(0.4 * empty_s)[0], rel=rtol)
    bare.run(3.0 * empty_s)
    flowing = bare.steps[:, 2] > 0.0
    assert bare.steps[flowing, 0].max() == pytest.approx(empty_s, rel=rtol)
    assert bare.s["house_m3"][0] == pytest.approx(start, rel=1e-12)
    assert bare.s["water_m3"][0] == 0.0


def test_an_orifice_alone_has_a_closed_form(plant):
    # No train and no static head, precharge 0, n = 1: with u = V_air/V and p_atm (1/u - 1) at the tap,
    # dV_air/dt = K sqrt(p_atm (1-u)/u). Let u = sin^2 s: K sqrt(p_atm)/V t = [s - sin s cos s] between the
    # ends.
    bare = plant(
        pump_works=0,
        step_share=FINE,
        precharge_pa=0.0,
        linear_pa_s_m3=0.0,
        quadratic_pa_s2_m6=0.0,
        static_pa=0.0,
    )
    k, p = 2e-7, bare.p[0]
    first, last = math.asin(math.sqrt(0.2)), math.asin(math.sqrt(0.7))
    span = (last - math.sin(last) * math.cos(last)) - (first - math.sin(first) * math.cos(first))
    time_s = span * p["tank_m3"] / (k * math.sqrt(p["atmosphere_pa"]))
    bare.s["water_m3"] = 0.8 * p["tank_m3"]
    bare.draw([[0.0, k, 2 * time_s, INF]]).run(time_s)
    assert bare.s["water_m3"][0] == pytest.approx(0.3 * p["tank_m3"], rel=1e-8)


@pytest.mark.parametrize(("share", "rtol"), [(FINE, 1e-8), (STEP_SHARE, 1e-6)])
def test_the_pump_fills_the_tank_as_quadrature_says(plant, plain, share, rtol):
    bare = plant(step_share=share)
    low, high = bare.water_m3(40 * PSI), bare.water_m3(60 * PSI)
    other = plain(bare, 0.0)
    wanted_s, _ = quad(lambda v: 1.0 / other.pump(v), low, high, epsrel=1e-12)
    bare.s["water_m3"], bare.s["time_s"] = low, 100.0
    bare.run(100.0 + 3.0 * wanted_s)
    assert bare.runs.shape == (1, 2)
    assert bare.runs[0, 0] == 100.0
    assert bare.runs[0, 1] - 100.0 == pytest.approx(wanted_s, rel=rtol)
    assert bare.s["water_m3"][0] == pytest.approx(high, rel=1e-10)
    assert bare.s["run_s"][0] == pytest.approx(wanted_s, rel=rtol)


def test_the_cistern_sinks_with_every_drop(plant, plain):
    bare = plant(floor_m2=2.0)
    low, high = bare.water_m3(40 * PSI), bare.water_m3(60 * PSI)
    other = plain(bare, 0.0)
    base = other.lift_m

    def speed(water):
        other.lift_m = base + (water - low) / 2.0
        return 1.0 / other.pump(water)

    bare.s["water_m3"] = low
    bare.run(2000.0)
    assert bare.runs[0, 1] == pytest.approx(quad(speed, low, high, epsrel=1e-12)[0], rel=1e-6)


def test_the_cistern_sinks_while_the_pump_feeds_past_an_empty_tank(plant, plain, tap):
    # Demand beyond the pump: the tank is empty and the level falls by 0.4 m in the time of the draw.
    k, seconds = tap(60), 900.0
    bare = plant(floor_m2=3.0)
    bare.s["water_m3"], bare.s["cistern_m3"] = 0.0, 6.0
    other = plain(bare, k)
    base = other.lift_m

    def flow(_t, y):
        other.lift_m = base + y[0] / 3.0
        least, most = 0.0, float(bare.p["precharge_pa"][0])
        for _ in range(60):
            middle = 0.5 * (least + most)
            water = bare.p["tank_m3"][0] * (1.0 - _air(bare, middle))
            least, most = (middle, most) if other.pump(water) > other.house(water) else (least, middle)
        return [other.house(water)]

    found = solve_ivp(flow, (0.0, seconds), [0.0], rtol=1e-10, atol=1e-12)
    bare.draw([[0.0, k, seconds, INF]]).run(seconds)
    assert bare.s["water_m3"][0] == 0.0
    assert bare.s["house_m3"][0] == pytest.approx(found.y[0, -1], rel=1e-5)


def test_a_tank_that_comes_to_rest_between_pump_and_tap_does_so_as_scipy_says(plant, plain, tap):
    # A small tank and a demand that holds the pressure between cut-in and cut-out: flows turn, little moves.
    k = tap(18)
    bare = plant(tank_m3=0.012, step_share=STEP_SHARE)
    bare.s["water_m3"] = bare.water_m3(40 * PSI)
    other = plain(bare, k)
    start = float(bare.s["water_m3"][0])
    bare.draw([[0.0, k, 1e3, INF]])
    for seconds in (5.0, 20.0, 60.0):
        found = solve_ivp(
            lambda _t, y: [other.pump(y[0]) - other.house(y[0])],
            (0.0, seconds),
            [start],
            rtol=1e-12,
            atol=1e-15,
        )
        bare.run(seconds)
        assert bare.s["pump_on"][0] == 1
        assert bare.s["water_m3"][0] == pytest.approx(found.y[0, -1], abs=1e-6 * 0.012)


@pytest.mark.parametrize("gpm", [0.05, 1.0, 18.0])
def test_a_tank_without_pump_runs_down_to_the_height_of_the_taps_and_rests(plant, tap, gpm):
    # Boyle's law says what runs out. Without linear resistance the flow ends at once, with an infinite slope.
    bare = plant(pump_works=0, tank_m3=0.005, precharge_pa=1e4, linear_pa_s_m3=0.0)
    start, rest = float(bare.s["water_m3"][0]), bare.water_m3(3e4)
    bare.draw([[0.0, tap(gpm), 7200.0, INF]]).run(7200.0)
    assert bare.s["water_m3"][0] == pytest.approx(rest, rel=1e-6)
    assert bare.s["house_m3"][0] == pytest.approx(start - rest, rel=1e-6)
    assert len(bare.steps) < 5_000  # not a step a millisecond for two hours


def _air(bare, pressure_pa):
    """Share of the tank that air would fill at a pressure below the precharge: above 1."""
    outside = bare.p["atmosphere_pa"][0]
    return float((bare.p["precharge_pa"][0] + outside) / (pressure_pa + outside))


def test_drawdown_is_boyle_by_hand(plant, tap):
    # 86 gal, 38 psi precharge, 40 to 60 psi: 86 x 52.696 x (1/54.696 - 1/74.696) = 22.185 gal (14.696 psi
    # outside).
    bare = plant()
    bare.draw([[0.0, tap(1.0), 3600.0 * 10, INF]]).run(3600.0 * 5)
    first_start = bare.runs[0, 0]
    by_hand = 86 * GALLON * 52.696 * (1 / 54.696 - 1 / 74.696)
    assert bare.flow_volume(0.0, first_start) == pytest.approx(by_hand, rel=2e-5)  # psi to 1e-3
    assert by_hand / GALLON == pytest.approx(22.185, abs=5e-4)


@pytest.mark.parametrize("gpm", [1.0, 2.5, 4.0])
def test_a_steady_tap_cycles_the_pump_as_theory_says(plant, plain, tap, gpm):
    # One cycle empties the drawdown at Q_d and fills it at Q_p - Q_d; both move with pressure, so
    # T = int dV/Q_d + int dV/(Q_p - Q_d) over the drawdown, by quadrature on the independent equations.
    bare = plant(step_share=FINE)
    k = tap(gpm)
    other = plain(bare, k)
    low, high = bare.water_m3(40 * PSI), bare.water_m3(60 * PSI)
    drain_s, _ = quad(lambda v: 1.0 / other.house(v), low, high, epsrel=1e-12)
    fill_s, _ = quad(lambda v: 1.0 / (other.pump(v) - other.house(v)), low, high, epsrel=1e-12)
    bare.draw([[0.0, k, 1e6, INF]]).run(8.2 * (drain_s + fill_s))
    starts = bare.runs[:, 0]
    assert starts.size == 8
    np.testing.assert_allclose(np.diff(starts), drain_s + fill_s, rtol=1e-7)
    # The textbook form Q_d (Q_p - Q_d)/(Q_p V_d), with constant flows, must fall inside what the pump curve
    # and the tap span between cut-in and cut-out, and at the mean flows it is within the half-width of that
    # span.
    volume = high - low
    slow = volume / other.house(high) + volume / (other.pump(low) - other.house(low))
    long = volume / other.house(low) + volume / (other.pump(high) - other.house(high))
    qd, qp = volume / drain_s, volume / fill_s + volume / drain_s
    textbook = qd * (qp - qd) / (qp * volume)
    assert min(slow, long) < 1.0 / textbook < max(slow, long)
    per_hour = 3600.0 / np.diff(starts).mean()
    assert per_hour == pytest.approx(3600.0 * textbook, rel=0.5 * abs(long - slow) / (drain_s + fill_s))


def test_halving_the_step_changes_no_start_and_no_volume(plant, tap):
    rng = np.random.default_rng(20260101)
    n = 3 * 80
    bound = rng.random(n) < 0.3
    rows = np.column_stack(
        [
            np.sort(rng.uniform(0, 3 * 86400, n)),
            tap(1.0) * rng.uniform(0.5, 4.0, n),
            np.where(bound, INF, rng.uniform(5, 400, n)),
            np.where(bound, rng.uniform(1e-3, 4e-2, n), INF),
        ]
    )
    found = [
        plant(step_share=share, leak_coefficient=1e-9).draw(rows).run(3 * 86400.0)
        for share in (STEP_SHARE, STEP_SHARE / 2)
    ]
    assert len(found[0].runs) == len(found[1].runs) > 10
    np.testing.assert_allclose(found[0].got["got_m3"], found[1].got["got_m3"], rtol=1e-6)
    np.testing.assert_allclose(found[0].bins.sum(), found[1].bins.sum(), rtol=1e-6)
    np.testing.assert_allclose(found[0].s["pumped_m3"], found[1].s["pumped_m3"], rtol=1e-6)
