"""What each effect of a task leaves behind; entries that start from others or come before them."""

from types import SimpleNamespace

import numpy as np
import pytest
import simpy

from sim.errors import InputError
from sim.scenario.care import Task
from sim.scenario.effects import TASK_EFFECTS
from sim.scenario.odd import warnings
from sim.scenario.read.load import load, load_text
from sim.scenario.read.merge import merged
from sim.scenario.rule_checks import never_changed
from sim.twin.people.faults import Faults
from sim.twin.people.service import apply
from sim.twin.processes import Care
from sim.twin.water import transport
from sim.twin.world import World

DAY_S = 86400.0


def task(*effects, share=1.0, price=0.0):
    return Task.model_validate(
        {"name": "it", "effects": effects, "share": share, "part_price": price, "minutes": 5.0,
         "shuts_water": True, "unplugs_uv": True}
    )  # fmt: skip


@pytest.fixture
def world(tiny, policy, short):
    """A house of sixty days in which nobody has done anything."""
    scenario = tiny(cistern={"start_solids": "40 mg/L"})
    env = simpy.Environment()
    found = World(env, scenario, policy(), short(scenario, 61), trace=False)
    Care(found)
    env.run(until=60 * DAY_S)
    return found


def dirt_kg(world):
    """All solids the ledger knows of."""
    held = world.solids + world.sludge + world.loads.sum(axis=0)
    return held + world.ledger[: transport.CLASSES, transport.REMOVED]


def test_a_rinse_takes_its_share_off_one_cartridge_that_stays_in(world):
    loads, all_kg = world.loads.copy(), dirt_kg(world)
    passed = float(world.stages[0]["passed_m3"])
    assert loads[0].sum() > 0.0
    assert apply(world, task("rinsed cartridge", share=0.75, price=2.0), 0) == 2.0
    np.testing.assert_allclose(world.loads[0], 0.25 * loads[0], rtol=1e-12)
    np.testing.assert_array_equal(world.loads[1], loads[1])
    np.testing.assert_allclose(dirt_kg(world), all_kg, rtol=1e-12)
    assert (world.costs.cartridges, world.installed_s[0]) == (0, 0.0)
    assert world.stages[0]["passed_m3"] == passed > 0.0


def test_a_new_cartridge_is_empty_and_paid_for(world):
    all_kg, stage = dirt_kg(world), world.scenario.stages[1]
    assert apply(world, task("new cartridge", price=3.0), 1) == stage.price * stage.housings + 3.0
    assert world.loads[1].sum() == 0.0 < world.loads[0].sum()
    np.testing.assert_allclose(dirt_kg(world), all_kg, rtol=1e-12)
    assert (world.costs.cartridges, world.installed_s[1]) == (1, 60 * DAY_S)


@pytest.mark.parametrize("share", [0.5, 1.0])
def test_gutters_are_cleared_by_the_share_that_was_worked_on(world, share):
    before = float(world.w["neglect"])
    apply(world, task("cleared gutters", share=share), -1)
    assert float(world.w["neglect"]) == pytest.approx((1.0 - share) * before, abs=1e-15)
    assert before > 0.0


def test_a_cleaning_takes_its_share_of_the_sludge_and_a_set_volume_of_water(world):
    sludge, water_m3 = world.sludge.copy(), float(world.s["cistern_m3"])
    apply(world, task("cleaned cistern", share=0.95), -1)
    np.testing.assert_allclose(world.sludge, 0.05 * sludge, rtol=1e-12)
    gone_m3 = min(world.scenario.goals.cleaning_loss_m3, water_m3)
    assert water_m3 - float(world.s["cistern_m3"]) == pytest.approx(gone_m3)


def test_the_water_that_is_thrown_away_takes_its_dirt_and_its_colour_with_it(world):
    all_kg, water_m3 = dirt_kg(world), float(world.s["cistern_m3"])
    solids, colour, spilled_m3 = world.solids.copy(), float(world.w["colour"]), world.spilled_m3
    removed = float(world.ledger[transport.COLOUR, transport.REMOVED])
    apply(world, task("cleaned cistern", share=0.5), -1)
    lost_m3 = world.scenario.goals.cleaning_loss_m3
    left = 1.0 - lost_m3 / water_m3
    assert 0.0 < left < 1.0 and solids.sum() > 0.0
    np.testing.assert_allclose(world.solids, left * solids, rtol=1e-12)
    assert float(world.w["colour"]) == pytest.approx(left * colour)
    np.testing.assert_allclose(dirt_kg(world), all_kg, rtol=1e-12)
    booked = float(world.ledger[transport.COLOUR, transport.REMOVED]) - removed
    assert booked == pytest.approx((1.0 - left) * colour)
    assert world.spilled_m3 - spilled_m3 == pytest.approx(lost_m3)


def test_a_cistern_with_less_water_than_a_cleaning_takes_is_emptied(world):
    world.s["cistern_m3"] = 0.5 * world.scenario.goals.cleaning_loss_m3
    apply(world, task("cleaned cistern"), -1)
    assert world.s["cistern_m3"] == 0.0 and world.solids.sum() == 0.0 and world.sludge.sum() == 0.0
    apply(world, task("cleaned cistern"), -1)  # nothing is left to throw away
    assert world.s["cistern_m3"] == 0.0


def standing(effect):
    """Return a slip that stands, or none."""
    slip = SimpleNamespace(effect=effect, leak_m3_s=0.0, reading_left=1.0)
    return Faults([SimpleNamespace(slip=slip)] if effect else [])


@pytest.mark.parametrize(
    ("broken", "slip", "runs"), [(0, None, 1), (1, None, 0), (0, "pump off", 0), (1, "pump off", 0)]
)
def test_a_pump_runs_that_is_whole_and_switched_on(world, broken, slip, runs):
    world.parts["pump"]["broken"] = broken
    faults = standing(slip)
    faults.set_valves(world, None)
    assert (world.p["pump_works"], world.p["lamp_works"]) == (runs, 1)


@pytest.mark.parametrize(("work", "slip"), [(True, False), (False, True), (True, True)])
def test_a_unit_is_dark_while_it_is_unplugged_for_work_or_left_so(world, work, slip):
    faults = standing("unit dark" if slip else None)
    faults.set_valves(world, task("wiped sleeve") if work else None)
    assert (world.p["lamp_works"], world.p["shut"]) == (0, int(work))


def test_several_effects_of_one_task_are_all_had(world):
    films = float(world.w["sleeve_film"]), float(world.w["window_film"])
    apply(world, task("new lamp", "wiped sleeve", "wiped sensor window"), -1)
    assert world.w["lamp_lit_s"] == 0.0
    assert 0.0 <= float(world.w["sleeve_film"]) < films[0]
    assert 0.0 <= float(world.w["window_film"]) < films[1]


def test_every_effect_can_be_had(world):
    for effect, needs in TASK_EFFECTS.items():
        apply(world, task(effect), 0 if needs.stage else -1)
    assert world.ageing["precharge_pa"] == world.scenario.tank.precharge_pa
    assert not any(part["broken"] for part in world.parts.values())


HEAD = 'extends = "family_house"\n'
FINE = HEAD + '[[stage]]\nname = "fine"\nlike = "carbon"\nrating = "1 um"\n'


def test_a_stage_starts_from_another_and_comes_last_unless_it_says_before_which():
    last = load_text(FINE, "t")
    assert last.stage_names == ("sediment", "carbon", "fine")
    assert last.stages[2].carbon_bed_m3 == last.stages[1].carbon_bed_m3 > 0.0
    assert last.stages[2].rating_m == pytest.approx(1e-6)
    first = load_text(FINE + 'before = "sediment"\n', "t")
    assert first.stage_names == ("fine", "sediment", "carbon")


def test_a_stage_that_is_there_can_be_moved():
    moved = load_text(HEAD + '[[stage]]\nname = "carbon"\nbefore = "sediment"\n', "t")
    assert moved.stage_names == ("carbon", "sediment")
    assert set(moved.stages) == set(load("family_house").stages)


def test_a_step_comes_before_another():
    step = '[[task]]\nname = "take sample"\n[[task.step]]\nid = "note the weather"\nbefore = "run it"\n'
    site = load_text(HEAD + step + 'text = "Note rain."\nminutes = 1.0\nmissed = "Nobody knows."\n', "t")
    ids = [one.id for one in site.steps("take sample")]
    assert ids.index("note the weather") + 1 == ids.index("run it")
    assert site.task("take sample").minutes == load("family_house").task("take sample").minutes + 1.0


def test_entries_of_one_file_can_start_from_each_other_but_not_from_what_comes_later():
    entries = [{"name": "a", "x": {"y": 1, "z": 2}}, {"name": "b", "like": "a", "x": {"y": 3}}]
    assert merged({}, {"stage": entries})["stage"][1] == {"name": "b", "x": {"y": 3, "z": 2}}
    assert entries[0] == {"name": "a", "x": {"y": 1, "z": 2}}
    with pytest.raises(InputError, match="no stage 'a'; known are none"):
        merged({}, {"stage": entries[::-1]})


def test_rules_are_added_to_those_a_policy_has():
    rule = '[[policy.also]]\ntask = "take sample"\nwhen = "calendar"\nevery = "1 month"\n'
    before = load("family_house").policies
    site = load_text(HEAD + '[[policy]]\nname = "by the calendar"\n' + rule, "t")
    (added,) = [one for one in site.policies[0].rules if one not in before[0].rules]
    assert added.label == "take sample"
    assert tuple(one for one in site.policies[0].rules if one != added) == before[0].rules
    assert site.policies[1:] == before[1:]
    alone = load_text(HEAD + '[[policy]]\nname = "mine"\n' + rule, "t")
    assert len(alone.policies[-1].rules) == 1


def test_a_stage_nobody_changes_is_told_of_once_with_all_who_do_not():
    site = load_text(FINE, "t")
    said = [line for line in warnings(site) if "ever changes" in line]
    assert len(said) == 1
    names = [policy.name for policy in site.policies if policy.rules]
    assert all(name in said[0] for name in names)
    assert "nothing done" not in said[0]
    assert [line for line in warnings(load("family_house")) if "ever changes" in line] == []


def test_a_change_by_failure_counts_only_where_somebody_heeds_it(policy):
    site = load("family_house")
    rule = {"task": "change cartridge", "stage": "carbon", "when": "failure"}
    stages = site.stage_names
    assert never_changed(policy(rule), site.tasks, stages) == ("sediment",)
    assert never_changed(policy(rule, heeds_alarm=False), site.tasks, stages) == stages
    assert never_changed(policy(), site.tasks, stages) == ()


def test_what_never_happens_is_told():
    deaf = load_text(HEAD + '[[policy]]\nname = "as things fail"\nheeds_alarm = false\n', "t")
    assert any('no rule with when = "failure" is ever due' in line for line in warnings(deaf))
    slip = (
        '[[slip]]\nname = "mine"\neffect = "pump off"\ndoes = "d"\nshows = "s"\nmend = "m"\nminutes = 5.0\n'
    )
    idle = load_text(HEAD + slip + 'seen_by = { "no water" = "3 d" }\n', "t")
    assert any(line.startswith("slip[mine]: no step leads to it") for line in warnings(idle))
