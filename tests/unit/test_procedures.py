"""The procedures as data: what they work and warn of, what they come to, how a wrong one is refused."""

import pytest

from sim.errors import InputError
from sim.scenario.procedure import CAUTIOUS, FITTINGS, RETURN
from sim.scenario.read.load import built_in, load, load_text

OPTIONAL = [name for name in FITTINGS if name not in ("UV plug", "pump switch")]


def names_of(site):
    """Tasks, and the return to service."""
    return [*(task.name for task in site.tasks), RETURN]


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
    unworked = {
        "shut-off valve at inlet",
        "sampling valve after UV",
        "tank valve",
    }  # there to be used, not part of a task
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
        (
            '[[guide]]\nname = "come back after an absence"\nfollows = "leave for more than 14 day"',
            "follows: no [[guide]] 'leave for more than 14 day'; did you mean 'leave for more than 14 days'",
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
