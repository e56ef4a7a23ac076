"""Someone follows the printed steps to the letter: the plant, run from where they end, gives dosed water."""

import math

import pytest

from sim.plant import state
from sim.scenario.procedure import RETURN
from sim.scenario.read.load import built_in, load
from sim.study.visits.plumbing import done, fittings


def ends_at(site, steps):
    return done(site, steps, fittings(site)).positions


def run_from(plant, positions):
    """The bare plant with valves and plugs as they stand: one tap for two minutes."""
    through = all(positions.get(valve, "open") == "open" for valve in ("inlet valve", "outlet valve"))
    house = plant(
        shut=int(not through),
        lamp_works=int(positions["UV plug"] == "in" and positions["lamp"] == "in"),
        pump_works=int(positions["pump switch"] == "on"),
        dose_flow=0.0 if positions.get("bypass valve") == "open" else 600.0 * 6.3e-4,
    )
    return house.draw([[600.0, 4e-7, 120.0, math.inf]]).run(3600.0)


def tasks(site):
    return [*(task.name for task in site.tasks), RETURN]


@pytest.mark.parametrize("name", list(built_in()))
def test_the_steps_as_printed_end_with_dosed_water_at_the_tap(name, plant):
    site = load(name)
    for task in tasks(site):
        house = run_from(plant, ends_at(site, site.steps(task)))
        assert house.got["got_m3"][0] > 0.01, task
        assert house.got["dose_j_m2"][0] > 400.0, task
        assert house.day(state.WATER_OFF) == 0.0
        assert house.day(state.LOW_LIGHT) == house.day(state.ALARM) == 0.0


@pytest.mark.parametrize(
    ("step", "dry"), [("open the outlet", True), ("let water in slowly", True), ("plug the unit in", False)]
)
def test_one_step_left_out_shows_at_the_tap(step, dry, plant):
    site = load("family_house")
    steps = [one for one in site.steps("wipe sleeve") if one.id != step]
    house = run_from(plant, ends_at(site, steps))
    if dry:
        assert house.got["got_m3"][0] == 0.0
    else:
        assert house.got["got_m3"][0] > 0.01
        assert house.got["dose_j_m2"][0] == 0.0
