"""Counting within a step: shares of time and volume, and a tank that drains alone against closed forms."""

import math

import numpy as np
import pytest
from scipy.integrate import quad

from sim.plant import count, state

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
