"""Counting within a step: shares of time and volume, and a tank that drains alone against closed forms."""

import math

import numpy as np
import pytest
from scipy.integrate import quad

from sim.plant import cause, count, state

INF = math.inf
PSI = 6894.757293168361


@pytest.mark.parametrize(("first", "last"), [(1.0, 3.0), (3.0, 1.0)])
def test_shares_of_a_straight_course(first, last):
    # A flow that goes from 1 to 3 in unit time passes (1 + q)/2 (q - 1)/2 by the time it is q, of 2 in all.
    assert count.time_under(1.5, first, last) == pytest.approx(0.25, rel=1e-12)
    assert count.volume_under(1.5, first, last) == pytest.approx((1.25 * 0.25) / 2.0, rel=1e-12)
    assert count.time_under(0.5, first, last) == count.volume_under(0.5, first, last) == 0.0
    assert count.time_under(3.5, first, last) == count.volume_under(3.5, first, last) == 1.0


def test_a_steady_course_is_wholly_within_or_without():
    assert count.time_under(2.0, 1.0, 1.0) == count.volume_under(2.0, 1.0, 1.0) == 1.0
    assert count.time_under(2.0, 3.0, 3.0) == count.volume_under(2.0, 3.0, 3.0) == 0.0


@pytest.fixture
def draining(plant, plain, tap):
    """A tank that drains through one tap, pump out of order, and its water at a flow by hand."""
    k = tap(3.0)
    bare = plant(pump_works=0, precharge_pa=5 * PSI, target_j_m2=2900.0, static_pa=1e4, trickle_pa=1.2e4)
    bare.s["water_m3"] = bare.water_m3(60 * PSI)
    by_hand = plain(bare, k)
    first = by_hand.house(float(bare.s["water_m3"][0]))

    def water_m3(flow):
        drop = by_hand.p["linear_pa_s_m3"] * flow + (by_hand.p["quadratic_pa_s2_m6"] + k**-2) * flow**2
        pressure = by_hand.p["static_pa"] + drop
        outside = by_hand.p["atmosphere_pa"]
        return by_hand.p["tank_m3"] * (1.0 - (by_hand.p["precharge_pa"] + outside) / (pressure + outside))

    seconds = 2000.0  # until then it has not run empty
    bare.draw([[0.0, k, seconds, INF]]).run(seconds + 1.0)
    assert bare.s["water_m3"][0] > 0.0
    return bare, k, by_hand, first, water_m3


def curved_m3(bare):
    """Most volume that a straight course puts on the wrong side of a limit.

    A step moves a share s of the air, and flow over its mean bends by about s^2 in it. A chord misses an arc
    by an eighth of that; twice as much covers how steep flow goes with pressure near the static head.
    """
    p = bare.p[0]
    return 0.25 * float(p["step_share"]) ** 2 * float(p["tank_m3"])


def test_least_pressure_and_least_dose_stand_at_the_ends(draining):
    bare, k, by_hand, first, _ = draining
    last = by_hand.house(float(bare.s["water_m3"][0]))
    assert bare.days[0, state.TAP_MIN] == pytest.approx((last / k) ** 2, rel=1e-9)
    assert bare.got["tap_pa"][0] == pytest.approx((last / k) ** 2, rel=1e-9)
    assert bare.days[0, state.DOSE_LEAST] == pytest.approx(by_hand.p["dose_flow"] / first, rel=1e-9)


def test_the_histogram_holds_the_volume_of_each_dose(draining):
    # Boyle gives the water left at the flow of each edge; the volume between two edges is the difference.
    bare, _, by_hand, first, water_m3 = draining
    edges = 0.1 * 10.0 ** (np.arange(121) / 20.0)
    start, end = water_m3(first), float(bare.s["water_m3"][0])
    left = np.clip([water_m3(by_hand.p["dose_flow"] / edge) for edge in edges], end, start)
    volume = -np.diff([start, *left, end])
    assert np.count_nonzero(volume) > 4
    np.testing.assert_allclose(bare.bins, volume, atol=2.0 * curved_m3(bare))  # an edge at either end


def test_the_volume_below_the_target_ends_where_the_flow_falls_to_it(draining):
    bare, _, by_hand, first, water_m3 = draining
    below = water_m3(first) - water_m3(by_hand.p["dose_flow"] / by_hand.p["target_j_m2"])
    assert 0.2 < below / bare.got["got_m3"][0] < 0.8
    assert bare.day(state.BELOW_TARGET) == pytest.approx(below, abs=curved_m3(bare))


def test_low_pressure_begins_where_the_flow_falls_to_it(draining):
    bare, k, by_hand, _, water_m3 = draining
    low = k * math.sqrt(by_hand.p["low_tap_pa"])
    seconds, _ = quad(lambda v: 1.0 / by_hand.house(v), float(bare.s["water_m3"][0]), water_m3(low))
    assert 50.0 < seconds < 1000.0
    assert bare.day(state.LOW_PRESSURE) == pytest.approx(seconds, abs=curved_m3(bare) / low)


@pytest.mark.parametrize("share", [count.time_under, count.volume_under])
def test_at_a_limit_counts_as_within(share):
    assert share(2.0, 2.0, 2.0) == 1.0
    assert share(2.0, 1.0, 2.0) == 1.0


def test_flow_from_rest_spreads_up_to_the_last_bin(plant):
    """A flow that goes straight from 0 to 2 passes (q/2)^2 of its volume below q; dose is 800/q.

    So (400/d)^2 of the volume has more than a dose d, all of it 400 or more.
    """
    p, bins = plant(dose_flow=800.0).p, np.zeros(state.DOSE_BINS + 3)
    count._spread(p[0], 5.0, 0.0, 2.0, bins)
    edges = 0.1 * 10.0 ** (np.arange(121) / 20.0)
    above = np.minimum(1.0, (400.0 / edges) ** 2)
    wanted = [0.0, *-np.diff(above), above[-1], 0.0, 0.0, 0.0]
    np.testing.assert_allclose(bins, 5.0 * np.array(wanted), rtol=1e-9, atol=1e-15)


class Step:
    """One step noted on an empty day: 10 s long, taps of coefficient 1e-6 and perhaps a leak of as much."""

    def __init__(
        self, plant, flows=(1e-4, 3e-4), pressures=(2e5, 3e5), taps=1, warm=True, held=False, **over
    ):
        whys = {name: over.pop(name) for name in ("why_cold", "why_low") if name in over}
        bare = plant(**{"dose_flow": 1.0, "target_j_m2": 4e3, "low_tap_pa": 1e4, **over})
        bare.draw([[0.0, 1e-6 / max(taps, 1), INF, 1.0]] * 3)
        bare.s["open_count"], bare.s["power"], bare.s["why_low"] = taps, 1, cause.NONE
        for name, code in whys.items():
            bare.s[name] = code
        bare.s["open_draw"][0, :2] = [2, 0]
        ends = (*pressures, *flows)
        house_m3, coefficient = (0.0, 0.0) if held else (2e-3, 1e-6 if taps else 0.0)
        self.causes = cause.new_causes(1)[0]
        records = (bare.s[0], bare.p[0], bare.days[1], self.causes)
        count.note(*records, 10.0, house_m3, coefficient, ends, warm, held, bare.got)
        self.got, self.bins = bare.got, bare.bins
        self.day = bare.days[1]
        assert (bare.days[0] == state.new_days(1)[0]).all()


# At 4 kJ/m2 and 1 J/m2 m3/s a flow of 2.5e-4 m3/s just meets the target: a quarter of the time from 1 to 3 is
# above it, and (3^2 - 2.5^2)/(3^2 - 1) = 11/32 of the volume.


def test_pressures_and_doses_of_a_step(plant):
    one = Step(plant)
    assert (one.day[state.TANK_MIN], one.day[state.TANK_MAX]) == (2e5, 3e5)
    assert one.day[state.TAP_MIN] == pytest.approx(1e4, rel=1e-12)  # (1e-4/1e-6)^2
    assert one.day[state.DOSE_LEAST] == pytest.approx(1.0 / 3e-4, rel=1e-12)
    assert one.got["tap_pa"].tolist() == pytest.approx([INF, INF, 1e4])  # the open tap is the third
    assert one.got["dose_j_m2"].tolist() == pytest.approx([INF, INF, 1.0 / 3e-4])
    both = Step(plant, taps=2)
    assert both.got["tap_pa"].tolist() == pytest.approx([1e4, INF, 1e4])
    assert both.got["dose_j_m2"].tolist() == pytest.approx([1.0 / 3e-4, INF, 1.0 / 3e-4])


def test_volume_below_the_target_is_the_taps_alone(plant):
    assert Step(plant).day[state.BELOW_TARGET] == pytest.approx(2e-3 * 11 / 32, rel=1e-12)
    assert Step(plant).bins.sum() == pytest.approx(2e-3, rel=1e-12)
    leaking = Step(plant, leak_coefficient=3e-6)
    assert leaking.day[state.BELOW_TARGET] == pytest.approx(2e-3 / 4 * 11 / 32, rel=1e-12)
    assert leaking.day[state.TAP_MIN] == pytest.approx((1e-4 / 4e-6) ** 2, rel=1e-12)
    dark = Step(plant, warm=False)
    assert dark.day[state.BELOW_TARGET] == dark.bins[0] == pytest.approx(2e-3, rel=1e-12)
    assert dark.day[state.DOSE_LEAST] == dark.got["dose_j_m2"][2] == 0.0


def test_time_without_enough_light_is_that_in_which_water_runs_unlit_or_too_fast(plant):
    # Pressure that goes from 2 to 4 x 10^4 Pa past a trickle's 3.2: water is off for 0.6 of the 10 s.
    falling = {"pressures": (2e4, 4e4), "trickle_pa": 3.2e4}
    assert Step(plant, **falling).day[state.WATER_OFF] == pytest.approx(6.0, rel=1e-12)
    assert Step(plant, **falling, warm=False).day[state.LOW_LIGHT] == pytest.approx(4.0, rel=1e-12)
    assert Step(plant, **falling).day[state.LOW_LIGHT] == pytest.approx(
        2.5, rel=1e-12
    )  # too fast for a quarter
    assert Step(plant, **falling, alarm=1).day[state.LOW_LIGHT] == pytest.approx(2.5, rel=1e-12)
    nearly_off = {"pressures": (2e4, 4e4), "trickle_pa": 3.8e4}
    assert Step(plant, **nearly_off).day[state.LOW_LIGHT] == pytest.approx(1.0, rel=1e-12)
    assert Step(plant).day[state.WATER_OFF] == 0.0


def test_the_alarm_sounds_all_the_while_it_has_power(plant):
    assert Step(plant, alarm=1).day[state.ALARM] == 10.0
    assert Step(plant, alarm=1, held=True, flows=(0.0, 0.0)).day[state.ALARM] == 10.0
    assert Step(plant).day[state.ALARM] == 0.0


# from 1 to 3 the volume above q is (9 - q^2)/8 of all.
# from 1 to 3 the volume above q is (9 - q^2)/8 of all.
FLOWS = {"dose_flow_best": 1.16, "dose_flow_water": 1.1, "dose_flow_lamp": 1.04, "dose_flow": 1.0}
WHYS = {"why_water": cause.WATER, "why_lamp": cause.LAMP_AGE, "why_film": cause.PUT_OFF}


def test_what_is_below_the_target_is_shared_out_to_flow_water_lamp_and_film(plant):
    step = Step(plant, **FLOWS, **WHYS)
    above = [(9.0 - q * q) / 8.0 * 2e-3 for q in (2.9, 2.75, 2.6, 2.5)]
    wanted = np.zeros(len(cause.CAUSES))
    wanted[[cause.FLOW, cause.WATER, cause.LAMP_AGE, cause.PUT_OFF]] = np.diff([0.0, *above])
    np.testing.assert_allclose(step.causes[:, cause.LITRES], wanted, rtol=1e-12, atol=1e-18)
    assert step.causes[:, cause.LITRES].sum() == pytest.approx(step.day[state.BELOW_TARGET], rel=1e-12)


# Flow 1 to 3 and a least tested flow q of 1.5 or more: the dose up to q is that at q.
@pytest.mark.parametrize(("tested", "below"), [(0.0, 11 / 32), (2.4, 11 / 32), (2.6, 1.0)])
def test_no_dose_is_credited_beyond_that_at_the_least_tested_flow(plant, tested, below):
    step = Step(plant, least_flow_m3_s=tested * 1e-4)
    assert step.day[state.BELOW_TARGET] == pytest.approx(2e-3 * below, rel=1e-12)
    assert step.day[state.LOW_LIGHT] == pytest.approx(10.0 if below == 1.0 else 2.5, rel=1e-12)
    assert step.causes[:, cause.LITRES].sum() == pytest.approx(step.day[state.BELOW_TARGET], rel=1e-12)
    assert step.bins.sum() == pytest.approx(2e-3, rel=1e-12)
    assert step.day[state.DOSE_LEAST] == pytest.approx(1.0 / 3e-4, rel=1e-12)  # at the fastest


def test_the_histogram_ends_at_the_dose_of_the_least_tested_flow(plant):
    step = Step(plant, least_flow_m3_s=2e-4)  # 3/8 of the volume passes below it and has its dose
    at = np.flatnonzero(step.bins)
    top = state.DOSE_LOW_J_M2 * 10.0 ** (np.array([at[-1] - 1, at[-1]]) / state.DOSE_BINS_PER_DECADE)
    assert top[0] <= 1.0 / 2e-4 < top[1]
    faster = (1.0 / top[0]) ** 2 if top[0] > 1.0 / 3e-4 else 9e-8
    assert step.bins[at[-1]] == pytest.approx(2e-3 * (faster - 1e-8) / 8e-8, rel=1e-9)


def test_a_unit_that_fails_at_its_least_tested_flow_is_charged_to_what_took_the_light(plant):
    dim = Step(plant, **FLOWS, **WHYS, least_flow_m3_s=2.7e-4)  # new lamp and worn sleeve stand either side
    assert dim.day[state.BELOW_TARGET] == pytest.approx(2e-3, rel=1e-12)
    above = [(9.0 - q * q) / 8.0 * 2e-3 for q in (2.9, 2.75)]
    wanted = [
        *np.diff([0.0, *above]),
        2e-3 - above[1],
    ]  # the worn lamp alone is below it: the rest is its own
    assert dim.causes[[cause.FLOW, cause.WATER, cause.LAMP_AGE], cause.LITRES] == pytest.approx(
        wanted, rel=1e-12
    )


def test_without_a_warm_lamp_litres_go_to_what_made_it_dark(plant):
    dark = Step(plant, warm=False, why_cold=cause.LAMP_DIED)
    assert dark.causes[cause.LAMP_DIED, cause.LITRES] == pytest.approx(2e-3, rel=1e-12)
    assert np.count_nonzero(dark.causes[:, cause.LITRES]) == 1


def test_with_the_bypass_open_litres_go_to_it(plant):
    step = Step(plant, dose_flow=0.0, dose_flow_lamp=1.0)
    assert step.causes[cause.BYPASS_OPEN, cause.LITRES] == pytest.approx(2e-3, rel=1e-12)


def test_with_half_of_the_water_past_a_dark_lamp_litres_go_to_the_lamp(plant):
    step = Step(
        plant, dose_flow=0.0, dose_flow_lamp=0.0, dose_flow_best=10.0, dose_flow_water=10.0,
        target_j_m2=400.0, why_lamp=cause.LAMP_DIED,
    )  # fmt: skip
    assert step.causes[cause.LAMP_DIED, cause.LITRES] == pytest.approx(2e-3, rel=1e-12)


@pytest.mark.parametrize(("warm", "code"), [(True, cause.FILM), (False, cause.LAMP_DIED)])
def test_the_alarm_goes_to_the_reading_while_lit_and_to_the_dark_else(plant, warm, code):
    step = Step(plant, alarm=1, warm=warm, why_alarm=cause.FILM, why_cold=cause.LAMP_DIED)
    assert step.causes[code, cause.ALARM] == 10.0 == step.causes[:, cause.ALARM].sum()


@pytest.mark.parametrize(
    ("over", "code"),
    [
        ({"held": True, "shut": 1, "why_shut": cause.VALVE_SHUT}, cause.VALVE_SHUT),
        ({"held": True, "alarm": 1, "why_alarm": cause.FILM}, cause.FILM),
        ({"held": True, "warm": False, "why_cold": cause.POWER_CUT}, cause.POWER_CUT),
        ({"pressures": (1e4, 1e4), "trickle_pa": 2e4, "why_low": cause.PUMP_BROKEN}, cause.PUMP_BROKEN),
        ({"pressures": (1e4, 1e4), "trickle_pa": 2e4, "why_clogged": cause.CLOGGED}, cause.CLOGGED),
    ],
)
def test_water_that_is_off_has_one_cause(plant, over, code):
    flows = {} if "pressures" in over else {"flows": (0.0, 0.0)}
    step = Step(plant, **flows, **over)
    assert (
        step.causes[code, cause.OFF] == 10.0 == step.causes[:, cause.OFF].sum() == step.day[state.WATER_OFF]
    )


def test_a_held_step_is_one_without_water(plant):
    held = Step(plant, held=True, flows=(0.0, 0.0))
    assert held.day[state.WATER_OFF] == 10.0
    assert held.day[state.LOW_LIGHT] == held.day[state.LOW_PRESSURE] == 0.0


def test_a_leak_alone_is_no_use_of_water(plant):
    leak = Step(plant, taps=0, leak_coefficient=1e-6)
    for column in (state.LOW_LIGHT, state.BELOW_TARGET, state.LOW_PRESSURE):
        assert leak.day[column] == 0.0
    assert leak.day[state.TAP_MIN] == leak.day[state.DOSE_LEAST] == INF
    assert Step(plant, taps=0, leak_coefficient=1e-6, warm=False).day[state.LOW_LIGHT] == 10.0


def test_low_pressure_is_counted_while_there_is_power(plant):
    # Below 22.5 kPa at the tap, 1.5e-4 m3/s through a coefficient of 1e-6: a quarter of the way from 1 to 3.
    weak = {"low_tap_pa": 2.25e4}
    assert Step(plant, **weak).day[state.LOW_PRESSURE] == pytest.approx(2.5, rel=1e-12)
    leaking = Step(plant, low_tap_pa=2.25e4 / 4, leak_coefficient=1e-6)  # the same flow through twice as much
    assert leaking.day[state.LOW_PRESSURE] == pytest.approx(2.5, rel=1e-12)
