"""What the pump draws in a step: by its mean flow, and by Simpson's rule where power bends."""

import pytest
from scipy.integrate import quad

from sim.plant import energy, step

GRAVITY = 9.80665


@pytest.fixture
def house(plant):
    return plant(floor_m2=4.0)


def watts(p, flow):
    """Power of the curve at a flow, written anew: rho g H q over the efficiency of pump and drive."""
    share = p["best_efficiency"] * flow / p["best_flow_m3_s"] * (2.0 - flow / p["best_flow_m3_s"])
    head = p["shutoff_head_m"] - p["curve_s2_m5"] * flow**2
    return p["density_kg_m3"] * GRAVITY * head * flow / max(share, 0.01) / p["drive_efficiency"]


def plain_fields(house):
    return {name: float(house.p[name][0]) for name in house.p.dtype.names}


def test_a_step_at_a_usual_flow_takes_the_power_of_its_mean_flow(house):
    p = plain_fields(house)
    flow = 0.8 * p["best_flow_m3_s"]
    taken = energy.of_step_j(house.p[0], 2.0, 3.0 * flow, 3.0, 3e5, 3.1e5)
    assert taken == pytest.approx(3.0 * watts(p, flow), rel=1e-12)


def test_a_step_at_a_great_flow_takes_the_power_integrated_over_it(plant):
    """Flow falls along the step: a parabola through its ends and its mean, integrated anew."""
    lift_m, before_pa, after_pa, dt_s = 2.0, 1e3, 8e4, 2.0
    first = step.pump_flow_m3_s(before_pa, plant().p[0], lift_m)
    house = plant(floor_m2=4.0, best_flow_m3_s=first / 1.7)
    p = plain_fields(house)
    guess = (first + step.pump_flow_m3_s(after_pa, house.p[0], lift_m)) / 2.0 * dt_s
    last = step.pump_flow_m3_s(after_pa, house.p[0], lift_m + guess / p["floor_m2"])
    assert 1.2 * p["best_flow_m3_s"] < last < first
    middle = 1.5 * guess / dt_s - 0.25 * (first + last)

    def flow(x):
        """A parabola through the flows at both ends and the middle; its mean is that of the step."""
        return first * (1 - x) * (1 - 2 * x) + 4 * middle * x * (1 - x) + last * x * (2 * x - 1)

    wanted = dt_s * quad(lambda x: watts(p, flow(x)), 0.0, 1.0)[0]
    assert quad(flow, 0.0, 1.0)[0] == pytest.approx(guess / dt_s, rel=1e-9)
    taken = energy.of_step_j(house.p[0], lift_m, guess, dt_s, before_pa, after_pa)
    simpson = dt_s * (watts(p, first) + 4.0 * watts(p, middle) + watts(p, last)) / 6.0
    assert taken == pytest.approx(simpson, rel=1e-9)
    by_mean = dt_s * watts(p, guess / dt_s)
    assert abs(taken - wanted) < 0.2 * abs(by_mean - wanted)  # which is why a step is not told by its mean


def test_a_pump_of_one_speed_runs_on_its_curve_at_even_pressure_too(plant):
    """Both ends at one pressure, a mean below them: Simpson's rule by hand, and no slower speed."""
    lift_m, pressure_pa, dt_s = 2.0, 1e3, 2.0
    flow = step.pump_flow_m3_s(pressure_pa, plant().p[0], lift_m)
    house = plant(floor_m2=1e12, best_flow_m3_s=flow / 1.5)
    p, middle = plain_fields(house), 1.5 * 0.9 * flow - 0.5 * flow
    taken = energy.of_step_j(house.p[0], lift_m, 0.9 * flow * dt_s, dt_s, pressure_pa, pressure_pa)
    by_hand = dt_s * (2.0 * watts(p, flow) + 4.0 * watts(p, middle)) / 6.0
    assert taken == pytest.approx(by_hand, rel=1e-9)


def test_a_fill_takes_the_power_integrated_over_what_is_pumped(plant, plain):
    """From cut-in to cut-out with no tap open, at flows where power bends: power over flow, by volume."""
    begin = plant()
    great = begin.p[0]["cut_out_pa"], begin.p[0], float(begin.p[0]["height_m"])
    house = plant(best_flow_m3_s=step.pump_flow_m3_s(*great))  # half as much again at cut-in
    p, other = plain_fields(house), plain(house, 0.0)
    first, last = (house.water_m3(p[name]) for name in ("cut_in_pa", "cut_out_pa"))
    house.s["water_m3"] = first
    house.run(3600.0)
    assert len(house.runs) == 1 and house.s["pump_on"][0] == 0

    def joules_a_m3(water):
        flow = other.pump(water)
        return watts(p, flow) / flow

    wanted = quad(joules_a_m3, first, last, epsrel=1e-10)[0]
    assert house.s["energy_j"][0] == pytest.approx(wanted, rel=1e-4)  # steps of 3 % of the air
