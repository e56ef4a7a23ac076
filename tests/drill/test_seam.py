"""A run acted on from outside: the same streams; what is staged balances and does what it says."""

import math

import numpy as np
import pytest

from sim.constants import DAY_S
from sim.errors import InputError
from sim.scenario.read import load
from sim.twin.run import common_inputs, run
from sim.twin.staging import EFFECTS, stage_fault
from sim.twin.steered import Steered
from tests.drill.cases import still

DAY = 60


@pytest.fixture(scope="module")
def house():
    scenario = still(load.load(load.DEMO))
    return scenario, common_inputs(scenario, 0, 5, 1)


@pytest.fixture
def steered(house):
    scenario, common = house
    return Steered(scenario, scenario.policies[0], common, DAY * DAY_S)


def test_up_to_the_hand_over_it_is_the_run_of_the_policy(house):
    """And past it that of one in which nobody does anything: bit for bit where nothing is looked at."""
    scenario, common = house
    given = Steered(scenario, scenario.policies[0], common, DAY * DAY_S)
    whole = run(scenario, scenario.policies[0], common)
    given.until(365 * DAY_S)
    np.testing.assert_array_equal(given.world.days[: DAY - 1], whole.days[: DAY - 1])
    assert not any(event.kind == "task" and event.time_s >= DAY_S * DAY for event in given.world.events)
    assert any(event.kind == "task" and event.time_s > DAY_S * DAY for event in whole.events)


def test_an_act_does_what_its_task_leaves_and_costs_what_it_costs(steered):
    wipe = steered.world.scenario.task("wipe sleeve")
    w, owner_s = steered.world.w, steered.world.costs.owner_s
    film, fixed = float(w["sleeve_film"]), float(w["sleeve_fixed"])
    steered.work(wipe, None, technician=False)
    unit = steered.world.scenario.uv
    left = float(w["sleeve_film"] + w["sleeve_fixed"]) - fixed  # what a wipe leaves, part of it for good
    assert left == pytest.approx(film * (1.0 - unit.wiped), rel=0.01)
    assert steered.world.costs.owner_s - owner_s == wipe.minutes * 60.0
    assert steered.now_s > DAY * DAY_S + wipe.minutes * 60.0


def test_a_technician_comes_after_the_lead_time_and_is_paid(steered):
    people = steered.world.scenario.people
    steered.work(steered.world.scenario.task("repair pump"), None, technician=True)
    assert steered.now_s - DAY * DAY_S >= people.technician_lead_s
    assert steered.world.costs.callouts == people.technician_fee


def test_a_task_on_a_stage_wants_its_stage(steered):
    with pytest.raises(InputError, match="wanted one of the stages sediment, carbon"):
        steered.work(steered.world.scenario.task("change cartridge"), None, technician=False)


AMOUNTS = {
    "film on window": (0.6, -1), "film on sleeve": (0.6, -1), "old lamp": (24000 * 3600.0, -1),
    "dark lamp": (1.0, -1), "coloured water": (12.0, -1), "clogged cartridge": (1.3, 0),
    "cartridge in use": (0.95, 0), "torn cartridge": (1.0, 0), "lost precharge": (7e4, -1),
    "waterlogged tank": (1.0, -1),
    "switch drift": (-9e4, -1), "low cistern": (1.0, -1), "half-shut valve": (60.0, -1),
}  # fmt: skip


@pytest.mark.parametrize("effect", EFFECTS)
def test_what_is_staged_balances(steered, effect):
    """Water, each class of solids and colour: to 1e-9 of what came in, as in any run."""
    steered.until(80 * DAY_S)
    stage_fault(steered.world, effect, *AMOUNTS[effect])
    steered.until(120 * DAY_S)
    assert all(balance.error <= 1e-9 for balance in steered.history().balances)


@pytest.mark.parametrize(("effect", "field"), [("film on window", "reading"), ("film on sleeve", "both")])
def test_a_film_takes_its_share_of_the_light(steered, effect, field):
    """By Beer's law films multiply: 60 % left of reading, and of dose where it is on the sleeve."""
    world = steered.world
    reading, dose = float(world.w["reading"]), float(world.p["dose_flow"])
    stage_fault(world, effect, 0.6)
    assert float(world.w["reading"]) == pytest.approx(0.6 * reading, rel=1e-9)
    assert float(world.p["dose_flow"]) == pytest.approx(dose * (0.6 if field == "both" else 1.0), rel=1e-9)


def test_a_bypass_left_open_leaves_display_and_taps_as_they_were(steered):
    world = steered.world
    reading, drop = float(world.w["reading"]), world.drop_pa(0)
    stage_fault(world, "bypass left open", 1.0)
    assert float(world.w["reading"]) == pytest.approx(reading, rel=0.02)
    assert not world.p["alarm"]
    assert world.p["dose_flow"] == 0.0
    assert world.drop_pa(0) < 0.5 * drop
    steered.put_right(("bypass open",), 5.0)
    assert world.p["dose_flow"] > 0.0
    assert world.faults.standing == []


def test_a_half_shut_valve_is_opened_again(steered):
    before = float(steered.world.c["pipe_quadratic"])
    stage_fault(steered.world, "half-shut valve", 60.0)
    assert float(steered.world.c["pipe_quadratic"]) == 60.0 * before
    steered.put_right((), 5.0)
    assert float(steered.world.c["pipe_quadratic"]) == before


def test_an_effect_nobody_knows_is_refused(steered):
    with pytest.raises(InputError, match="no effect 'gremlins'"):
        stage_fault(steered.world, "gremlins", 1.0)


def test_the_switch_is_set_as_the_site_has_it(steered):
    stage_fault(steered.world, "switch drift", -9e4)
    steered.set_switch()
    assert float(steered.world.p["cut_out_pa"]) == steered.world.scenario.switch.cut_out_pa
    assert math.isclose(steered.world.costs.callouts, steered.world.scenario.people.technician_fee)
