"""A pump with too little suction head: its definition, its energy balance; ample suction moves nothing."""

import numpy as np
import pytest

from sim.constants import DAY_S, GRAVITY_M_S2
from sim.plant import pump, state, suction

PSI = 6894.757293168361
H0, K, KS, RHO = 55.0, 3.4e7, 0.4e7, 999.1


def plant(air_head=10.1, needed=3.0, suction_loss=KS):
    p = np.zeros(1, state.PLANT)
    p["shutoff_head_m"], p["curve_s2_m5"], p["suction_s2_m5"] = H0, K, suction_loss
    p["air_head_m"], p["npsh_required_m"], p["density_kg_m3"] = air_head, needed, RHO
    return p[0]


def test_at_the_head_it_needs_three_in_a_hundred_are_gone_and_at_boiling_all():
    # ISO 9906 (from memory): NPSH3 is the suction head at which 3 % of the head is gone
    assert suction.head_left(3.0, 3.0) == pytest.approx(0.97, rel=1e-12)
    assert suction.head_left(0.0, 3.0) == suction.head_left(-1.0, 3.0) == 0.0
    assert (
        suction.head_left(3.63, 3.0) == 1.0
    )  # sqrt(0.03) = 0.17321: all is there from 3/0.82679 = 3.6285 m on
    assert suction.head_left(3.62, 3.0) < 1.0
    shares = [suction.head_left(x, 3.0) for x in np.linspace(0.0, 4.0, 81)]
    assert (np.diff(shares) >= 0.0).all()
    assert max(np.diff(shares)) < 0.03  # no jump: 0.05/3.63 twice at most


@pytest.mark.parametrize("pressure", [0.0, 150e3, 300e3, 480e3])
def test_ample_suction_is_the_curve_itself(pressure):
    expected = pump.flow_m3_s(pressure, 2.0, H0, K, KS, RHO)
    assert suction.flow_m3_s(pressure, 2.0, plant(air_head=20.0)) == expected


@pytest.mark.parametrize("lift", [6.8, 8.0, 8.8])
@pytest.mark.parametrize("pressure", [50e3, 200e3])
def test_what_is_left_of_the_head_meets_what_is_asked(lift, pressure):
    p = plant()
    flow = suction.flow_m3_s(pressure, lift, p)
    ample = pump.flow_m3_s(pressure, lift, H0, K, KS, RHO)
    assert 0.0 < flow < ample
    kept = 1.0 - (1.0 - (10.1 - lift - KS * flow**2) / 3.0 * (1.0 - 0.03**0.5)) ** 2
    asked = lift + KS * flow**2 + pressure / (RHO * GRAVITY_M_S2)
    assert kept * (H0 - K * flow**2) == pytest.approx(asked, rel=1e-9)


def test_no_water_where_it_boils_and_a_rest_where_the_head_left_ends():
    assert suction.flow_m3_s(0.0, 10.1, plant()) == 0.0
    p = plant(suction_loss=0.0)
    rest = suction.rest_head_m(p, 8.6)  # half of what it needs: 1 - (1 - 0.41339746)^2 of 55 m
    assert rest == pytest.approx(55.0 * 0.6558974596, rel=1e-9)
    at_rest = RHO * GRAVITY_M_S2 * (rest - 8.6)
    assert suction.flow_m3_s(at_rest * (1 + 1e-9), 8.6, p) == 0.0
    assert suction.flow_m3_s(at_rest * (1 - 1e-3), 8.6, p) > 0.0


@pytest.mark.parametrize("leak_l_d", [10.0, 60.0, 900.0])
def test_a_starved_pump_that_feeds_a_leak_below_cut_out_is_followed_through_its_day(plant, leak_l_d):
    # The pressure of its shut-off head lies below cut-out: it runs on, and the leak flows at that pressure.
    leak = leak_l_d * 1e-3 / DAY_S
    bare = plant(npsh_required_m=6.0, air_head_m=7.2, height_m=5.0, floor_m2=12.0, tank_m3=0.0757)
    bare.p["linear_pa_s_m3"] = bare.p["quadratic_pa_s2_m6"] = 0.0
    bare.p["leak_coefficient"] = leak / np.sqrt(60 * PSI - bare.p["static_pa"])
    bare.s["cistern_m3"] = 23.0
    bare.s["water_m3"] = bare.water_m3(40 * PSI)  # it starts
    first = bare.s["water_m3"][0]
    bare.run(DAY_S)
    lift = 5.0 - (23.0 - 0.5 * leak * DAY_S) / 12.0  # in the middle of the day
    kept = 1.0 - (1.0 - (7.2 - lift) / 6.0 * (1.0 - 0.03**0.5)) ** 2
    rest_pa = 999.0 * GRAVITY_M_S2 * (kept * 180 * 0.3048 - lift)
    assert 40 * PSI < rest_pa < 60 * PSI
    assert bare.s["pump_on"][0] == 1
    expected = bare.p["leak_coefficient"][0] * np.sqrt(rest_pa - bare.p["static_pa"][0]) * DAY_S
    # within the 20 min in which it fills the tank, and the fall of the balance over the day, of second order
    assert bare.s["house_m3"][0] == pytest.approx(expected, rel=2e-3)
    stored = bare.s["water_m3"][0] - first
    assert bare.s["pumped_m3"][0] == pytest.approx(
        bare.s["house_m3"][0] + stored, rel=1e-11
    )  # sums of 20,000
    flow, curve, suction_loss = bare.steps[-1, 2], bare.p["curve_s2_m5"][0], bare.p["suction_s2_m5"][0]
    lost = 5.0 - bare.s["cistern_m3"][0] / 12.0 + suction_loss * flow**2
    kept = 1.0 - (1.0 - (7.2 - lost) / 6.0 * (1.0 - 0.03**0.5)) ** 2
    at_end = 999.0 * GRAVITY_M_S2 * (kept * (180 * 0.3048 - curve * flow**2) - lost)
    assert bare.steps[-1, 1] == pytest.approx(at_end, rel=1e-5)  # a step ago the level was 9e-6 m higher
    assert len(bare.steps) < 30_000


def test_a_tank_above_the_head_that_is_left_feeds_the_leak_until_the_pump_can(plant):
    # At midnight the water is warmer: the pump gives nothing until the leak has taken what stands above.
    bare = plant(npsh_required_m=6.0, air_head_m=7.2, height_m=5.0, floor_m2=12.0, tank_m3=0.0757)
    bare.p["leak_coefficient"] = 2e-10
    bare.s["cistern_m3"], bare.s["water_m3"] = 23.0, bare.water_m3(40 * PSI)
    bare.run(3600.0)
    before, pumped = float(bare.s["water_m3"][0]), float(bare.s["pumped_m3"][0])
    assert bare.s["pump_on"][0] == 1
    bare.p["air_head_m"] -= 0.01
    rows = len(bare.steps)
    bare.run(2 * 3600.0)
    given = before - bare.s["water_m3"][0]
    assert given > 1e-5
    house = bare.flow_volume(3600.0, 2 * 3600.0)
    assert bare.s["pumped_m3"][0] - pumped == pytest.approx(house - given, rel=1e-9)
    assert len(bare.steps) - rows < 2000


def test_a_starved_pump_at_rest_is_followed_while_mains_raise_the_level(plant):
    # Nothing flows: the pump stands at the pressure of its shut-off head, which rises with the level.
    bare = plant(npsh_required_m=6.0, air_head_m=7.2, height_m=4.5, floor_m2=2.0, tank_m3=0.0076)
    bare.p["mains_m3_s"], bare.p["mains_below_m3"], bare.p["mains_until_m3"] = 5e-3 / 60.0, 2.6, 3.0
    bare.s["cistern_m3"], bare.s["water_m3"] = 2.5, bare.water_m3(40 * PSI)
    bare.run(2 * 3600.0)
    assert bare.s["cistern_m3"][0] == pytest.approx(3.0, abs=1e-3)  # it fills the tank of 8 L by then
    lift = 4.5 - bare.s["cistern_m3"][0] / 2.0
    rest_pa = 999.0 * GRAVITY_M_S2 * (suction.rest_head_m(bare.p[0], lift) - lift)
    assert 40 * PSI < rest_pa < 60 * PSI
    assert bare.s["water_m3"][0] == pytest.approx(bare.water_m3(rest_pa), rel=1e-4)
    assert len(bare.steps) < 10_000
