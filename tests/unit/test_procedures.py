"""The procedures as data: what they work and warn of, what they come to, how a wrong one is refused."""

import itertools

import pytest

from sim.errors import InputError
from sim.scenario.procedure import AT_REST, CAUTIOUS, FITTINGS, RETURN, State
from sim.scenario.read.load import built_in, load, load_text
from sim.upkeep.walk import Move, walk

OPTIONAL = [name for name in FITTINGS if name not in ("UV plug", "pump switch")]


def names_of(site):
    """Tasks, and the return to service."""
    return [*(task.name for task in site.tasks), RETURN]


def moves(steps):
    return [Move(step.id, step.needs, step.operates) for step in steps]


def at_rest(scenario):
    have = {fitting.name for fitting in scenario.fittings}
    return {device: at for device, at in AT_REST.items() if device in have or device not in FITTINGS}


def without(scenario, gone):
    kept = tuple(fitting for fitting in scenario.fittings if fitting.name not in gone)
    return scenario.model_copy(update={"fittings": kept})


@pytest.fixture(scope="module", params=list(built_in()))
def site(request):
    return load(request.param)


def test_every_task_has_a_procedure_and_so_has_the_return_to_service(site):
    assert len(site.tasks) == 10
    assert all(site.steps(name) for name in names_of(site))


def test_minutes_of_a_task_are_those_of_its_steps(site):
    for task in site.tasks:
        assert task.minutes == pytest.approx(sum(step.minutes for step in site.steps(task.name)))


def test_a_task_that_shuts_water_or_unplugs_does_so_in_its_steps(site):
    for task in site.tasks:
        worked = {(device, at) for step in site.steps(task.name) for device, at in step.operates.items()}
        assert task.unplugs_uv == (("UV plug", "out") in worked)
        assert task.shuts_water == bool({("inlet valve", "shut"), ("pump switch", "off")} & worked)


def test_what_opens_something_or_gives_water_back_carries_its_caution(site):
    opening = []
    for name in names_of(site):
        for step in site.steps(name):
            if any(CAUTIOUS.get(device) == at for device, at in step.operates.items()):
                opening.append(name)
                assert step.caution and site.procedure(name).caution
    wanted = {"change cartridge", "wipe sleeve", "wipe sensor window", "replace lamp", "clean cistern"}
    assert wanted | {"restore precharge", "repair pressure tank"} <= set(opening)
    assert site.procedure(RETURN).caution


def test_cautions_defer_to_codes_or_local_rules(site):
    for name in names_of(site):
        said = site.procedure(name).caution.lower()
        assert "code" in said or "local rules" in said, name


def test_every_slip_can_happen_and_every_fitting_is_worked(site):
    steps = [step for name in names_of(site) for step in site.steps(name)]
    have = {fitting.name for fitting in site.fittings}
    happen = {step.slip for step in steps} - {None}
    never = set() if "bypass valve" in have else {"bypass left open"}
    assert happen == {slip.name for slip in site.slips} - never
    unworked = {"sampling valve after UV", "tank valve"}  # there to be used, not part of a task
    assert have - unworked <= {device for step in steps for device in step.operates}


def test_every_check_can_find_something(site):
    """What a step brings to light is what an earlier step of some task can have missed."""
    found, looked = set(), set()
    for name in names_of(site)[:-1]:
        earlier = set()
        for step in site.steps(name):
            looked |= {step.id} if step.finds else set()
            found |= {step.id} if set(step.finds) & earlier else set()
            earlier.add(step.slip)
    have = {fitting.name for fitting in site.fittings}
    assert looked - found == (set() if "bypass valve" in have else {"look once more"})


def test_the_printed_order_leaves_water_on_and_the_lamp_lit_whatever_the_train_has(site):
    """Every train that can be made by leaving fittings out; the steps as they stand."""
    have = [name for name in OPTIONAL if name in {fitting.name for fitting in site.fittings}]
    for count in range(len(have) + 1):
        for gone in itertools.combinations(have, count):
            train = without(site, gone)
            rest = at_rest(train)
            for name in names_of(train):
                steps = train.steps(name)
                assert {device for step in steps for device in step.operates} <= set(rest)
                done = walk(moves(steps), rest)
                assert done.faults == (), (gone, name)
                assert done.water_on and done.lit and not done.raw, (gone, name)
                assert dict(done.positions) == rest, (gone, name)


@pytest.mark.parametrize(
    ("task", "missed", "fault"),
    [
        ("change cartridge", ("shut the inlet",), "take the housing off: housing: opened under pressure"),
        (
            "change cartridge",
            ("relieve into a bucket",),
            "take the housing off: housing: opened under pressure",
        ),
        ("wipe sleeve", ("relieve into a bucket",), "loosen the gland: UV chamber: opened under pressure"),
        ("wipe sleeve", ("unplug the unit",), "take the lamp out: lamp: out with the unit plugged in"),
        (
            "replace lamp",
            ("put the new lamp in",),
            "plug the unit in: UV plug: in with the chamber open or empty",
        ),
        ("replace lamp", ("plug the unit in",), "open the outlet: outlet valve: opened with the unit dark"),
        ("restore precharge", ("drain at the tank",), "open the air valve: tank: opened with water in it"),
    ],
)
def test_the_walk_finds_a_step_left_out(task, missed, fault):
    site = load("family_house")
    steps = [step for step in site.steps(task) if step.id not in missed]
    assert len(steps) < len(site.steps(task))
    assert any(found.startswith(fault) for found in walk(moves(steps), at_rest(site)).faults)


@pytest.mark.parametrize(
    ("missed", "seen"),
    [
        ("let water in slowly", "water_on"),
        ("open the outlet", "water_on"),
        ("put the new one in", "water_on"),
        ("plug the unit in", "lit"),
    ],
)
def test_the_walk_ends_otherwise_when_a_last_step_is_left_out(missed, seen):
    site = load("family_house")
    steps = [step for step in site.steps("change cartridge") if step.id != missed]
    assert not getattr(walk(moves(steps), at_rest(site)), seen)


def test_relief_upstairs_comes_before_the_valves_are_shut():
    """On a train without a sampling valve a tap opened after shutting would relieve nothing."""
    cottage = load("cottage")
    steps = list(cottage.steps("change cartridge"))
    ids = [step.id for step in steps]
    assert ids.index("open a tap upstairs") < ids.index("shut the inlet") < ids.index("shut the outlet")
    tap = steps.pop(ids.index("open a tap upstairs"))
    steps.insert([step.id for step in steps].index("shut the outlet") + 1, tap)
    assert any("under pressure" in fault for fault in walk(moves(steps), at_rest(cottage)).faults)


def test_each_state_a_step_can_want_is_known_to_the_walk():
    site = load("family_house")
    for state in State.__args__:
        found = walk([Move("s", (state,), {})], at_rest(site)).faults
        assert found == (f"s: wants {state}",)


HEAD = 'extends = "base"\nname = "x"\nsummary = "y"\n'


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[[fitting]]\nname = "outlet valv"\nwhere = "x"', "fitting[outlet valv].name"),
        ('[[fitting]]\nname = "UV plug"\ndrop = true', "fitting: no 'UV plug'"),
        (
            '[[task]]\nname = "wipe sleeve"\nbefore = ["unplugg"]',
            "no [[block]] 'unplugg'; did you mean 'unplug'",
        ),
        (
            '[[task]]\nname = "wipe sleeve"\n[[task.step]]\nid = "loosen the gland"\ncaution = ""',
            "caution: is missing; wanted one where 'UV chamber' goes to 'open'",
        ),
        (
            '[[task]]\nname = "wipe sleeve"\n[[task.step]]\nid = "loosen the gland"\n'
            'operates = {"UV chamber" = "in"}',
            "operates.UV chamber: read 'in'; wanted open or shut",
        ),
        ('[[slip]]\nname = "window wet"\ndrop = true', "no [[slip]] 'window wet'"),
        ('[[task]]\nname = "wipe sleeve"\nminutes = -1.0', "minutes: read -1.0; wanted above 0"),
        ("[people.slips]\ntrained = 0.7", "trained: read 0.7; wanted at most 0.5"),
    ],
)
def test_a_wrong_procedure_is_refused_in_one_line(text, said):
    with pytest.raises(InputError, match=r"t\.toml: ") as caught:
        load_text(HEAD + text, "t.toml")
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_task_without_minutes_and_steps_is_refused():
    text = HEAD + '[[task]]\nname = "look at the roof"\neffects = []\nshuts_water = false\nunplugs_uv = false'
    with pytest.raises(InputError, match=r"task\[look at the roof\]\.minutes: is missing"):
        load_text(text, "t.toml")


def test_a_site_may_state_its_own_minutes_and_steps():
    text = HEAD + '[[task]]\nname = "take sample"\nminutes = 33.0\n'
    text += '[[task]]\nname = "wipe sleeve"\n[[task.step]]\nid = "wipe it clean"\nminutes = 9.0\n'
    site = load_text(text, "t.toml")
    minutes = {task.name: task.minutes for task in site.tasks}
    assert minutes["take sample"] == 33.0
    assert minutes["wipe sleeve"] == load("family_house").minutes("wipe sleeve") + 5.0


def test_a_housing_that_was_open_leaves_the_unit_empty_until_water_comes():
    rest = {"UV plug": "in", "lamp": "in", "sleeve": "in", "sensor": "in", "UV chamber": "shut"}
    rest |= {"housing": "shut", "cartridge": "in", "inlet valve": "open", "tap upstairs": "shut"}
    moves = [
        Move("shut", (), {"inlet valve": "shut", "tap upstairs": "open"}),
        Move("dark", (), {"UV plug": "out"}),
        Move("open", (), {"housing": "open"}),
        Move("close", (), {"housing": "shut"}),
    ]
    early = walk([*moves, Move("plug", (), {"UV plug": "in"})], rest)
    assert early.faults == ("plug: UV plug: in with the chamber open or empty, or without its lamp",)
    filled = [Move("fill", (), {"inlet valve": "open"}), Move("plug", (), {"UV plug": "in"})]
    assert walk([*moves, *filled], rest).faults == ()


def test_a_train_that_is_shut_at_both_ends_is_full_and_under_pressure_until_relieved():
    """No valve lets water out of it, whenever it was shut."""
    rest = {"UV plug": "out", "lamp": "in", "sleeve": "in", "sensor": "in", "UV chamber": "shut"}
    rest |= {"housing": "shut", "cartridge": "in", "sampling valve after UV": "shut"}
    rest |= {"inlet valve": "shut", "outlet valve": "shut"}
    opened = Move("open", (), {"housing": "open"})
    assert walk([opened], rest).faults == ("open: housing: opened under pressure",)
    relieve = Move("relieve", (), {"sampling valve after UV": "open"})
    assert walk([relieve, opened], rest).faults == ()
    plugged = walk([Move("plug", (), {"UV plug": "in"})], rest)
    assert plugged.faults == ()
    assert plugged.lit
