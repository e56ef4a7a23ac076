"""Orders on the symbolic plant: trains and verdicts worked out by hand, and every site with every task.

Rules and the verdicts of the four trains: common practice, no source. 9.81 kPa a metre of water: physics.
"""

import itertools
from collections.abc import Sequence

import pytest

from sim.scenario.procedure import AT_REST, FITTINGS, RETURN, Step, expanded
from sim.scenario.read.load import built_in, load
from sim.study.visits.plumbing import fittings, lacks, missed, refused, steps_on
from sim.upkeep.segments import Train
from sim.upkeep.walk import Move, walk

PLUGS = {"UV plug", "sensor plug", "pump switch"}
V1, V2, BY = "inlet valve", "outlet valve", "bypass valve"
P, R, S, CHAMBER = (
    "sampling valve before UV",
    "relief button",
    "sampling valve after UV",
    "chamber sampling valve",
)
IN, OUT, LEVER = "shut-off valve at inlet", "shut-off valve at outlet", "shut-off lever"
OPENS = {"change cartridge", "wipe sleeve"}


def order(task: str, have: set[str]) -> tuple[Step, ...]:
    return steps_on(load("family_house"), task, frozenset(have))


def on(steps: Sequence[Step], have: set[str], low_m: float = 1.0):
    rest = {one: at for one, at in AT_REST.items() if one in have or one not in FITTINGS}
    train = Train(frozenset(have), 4e5, {"lowest tap": low_m, "tap upstairs": 5.0})
    return walk([Move(step.id, step.needs, step.operates, step.acts) for step in steps], rest, train)


def placed(steps: Sequence[Step], first: str, before: str) -> list[Step]:
    """Return the steps with one of them brought forward."""
    found = [step for step in steps if step.id != first]
    at = next(i for i, step in enumerate(found) if step.id == before)
    return [*found[:at], next(step for step in steps if step.id == first), *found[at:]]


def test_a_lamp_lit_in_air_is_refused():
    have = {V1, V2, BY, P, S} | PLUGS
    steps = placed(order("wipe sleeve", have), "plug the unit in", "let water in slowly")
    assert any("in with air in the housings and chamber" in one for one in on(steps, have).refused)


def test_unplugged_first_a_shut_off_valve_locks_the_pressure_in():
    have = {V1, V2, BY, S, OUT} | PLUGS
    steps = placed(order("change cartridge", have), "unplug the unit", "shut the inlet")
    said = on(steps, have).refused
    assert any("housing: opened under pressure, housings at 4.00 bar" in one for one in said)


@pytest.mark.parametrize("task", sorted(OPENS))
def test_a_cock_before_the_shut_off_valve_makes_the_train_serviceable(task):
    have = {V1, V2, BY, CHAMBER, OUT} | PLUGS
    assert on(order(task, have), have).refused == ()
    assert refused(load("family_house"), task, frozenset({V1, V2, BY, S, OUT} | PLUGS))


def test_relief_at_the_lowest_tap_leaves_its_column_and_every_tap_is_flushed():
    have = {V1, V2} | PLUGS
    steps = order("wipe sleeve", have)
    done = on(steps, have)
    assert done.refused == ()
    assert done.notes == ("0.10 bar stays in the chamber", "the chamber was open: disinfect where rules ask")
    one = [
        step.model_copy(update={"acts": ("flush a tap",)}) if "flush every tap" in step.acts else step
        for step in steps
    ]
    assert "undosed water left in the house" in on(one, have).refused
    assert any("0.49 bar" in fault for fault in on(steps, have, low_m=5.0).refused)


def test_every_task_of_every_site_can_be_done_without_harm():
    for name in built_in():
        site = load(name)
        tasks = [*(one.name for one in (*site.tasks, *site.guides)), RETURN]
        assert len(tasks) == 19
        for task in tasks:
            assert site.steps(task)
            assert refused(site, task) == (), (name, task)


# Steps without loss where another step does not stand in for them either, why, and in which work.
DRAINED = {"restore precharge", "repair pump", "repair pressure tank"}
CLOSED = {"clean cistern", *DRAINED}  # neither chamber nor housing comes open
LIT = {
    "replace lamp",
    "power cut",
    "wipe the window of a dry port",
}  # nothing passes the unit while it is dark
NOT_HERE = {
    "shut the inlet": {"clean cistern"},  # no water is opened
    "shut the outlet": {"clean cistern"},
    "crack the outlet": CLOSED,  # no air is in the train
    "bleed the air": CLOSED,
    "bleed the chamber at the sampling valve after UV": CLOSED,
    "run what stood behind the lamp": LIT,
    "flush every tap": LIT,
}
# This tap is opened again to bleed, behind a shut outlet until then; and one is run to see that water comes.
NOWHERE = {"shut the lowest tap", "run a tap"}


def _losses(site, task):
    """What each step that works something leads to when it is left out, and which one stands in for it."""
    steps = [one.id for one in steps_on(site, task, fittings(site)) if one.operates or one.acts]
    alone = {one: set(missed(site, task, one)) for one in steps}
    for one in steps:
        both = alone[one] or any(
            set(missed(site, task, one, other)) - alone[other] for other in steps if other != one
        )
        yield one, alone[one], bool(both)


def test_a_step_that_matters_cannot_be_dropped():
    """Each is missed by itself or with what stands in for it, or is named above, and missed elsewhere."""
    matters, named, tried = set(), set(), 0
    for site in map(load, built_in()):
        for task in (*site.tasks, *(guide for guide in site.guides if guide.after)):
            for step, loss, seen in _losses(site, task.name):
                tried += bool(loss)
                if seen:
                    matters.add(step)
                else:
                    named.add(step)
                    assert step in NOWHERE or task.name in NOT_HERE.get(step, ()), (task.name, step)
    assert named == NOWHERE | set(NOT_HERE)
    assert set(NOT_HERE) <= matters
    assert not NOWHERE & matters
    assert tried > 480


@pytest.mark.parametrize(
    ("task", "dropped", "said"),
    [
        ("change cartridge", "open the outlet", "run a tap: flush a tap: no water comes to the taps"),
        ("wipe sleeve", "bleed the chamber at the sampling valve after UV", "in with air in the chamber"),
        ("change cartridge", "bleed the air", "plug the unit in: UV plug: in with air in the housings"),
        ("replace lamp", "shut the inlet", "take the old lamp out: lamp: out with the water on"),
        ("replace lamp", "shut the outlet", "plug the unit in: UV plug: in with the outlet valve open"),
        ("replace lamp", "let the old lamp cool", "take the old lamp out: lamp: handled hot"),
        ("restore precharge", "shut the inlet", "the tank drains while joined to housings"),
        ("change cartridge", "keep the bypass shut", "the bypass is left open"),
        ("come back after an absence", "flush all that stood", "undosed water left in the house"),
        ("come back after an absence", "outlet shut first", "in with the outlet valve open"),
        ("wipe the window of a dry port", "unplug for the wipe", "wants unplugged"),
    ],
)  # fmt: skip
def test_what_is_lost_with_a_step_is_said(task, dropped, said):
    assert any(said in one for one in missed(load("family_house"), task, dropped))


def acting(steps, step_id, without):
    return [
        step.model_copy(update={"acts": tuple(act for act in step.acts if act != without)})
        if step.id == step_id
        else step
        for step in steps
    ]


def test_water_let_in_past_an_open_cock_and_a_reading_of_a_cold_lamp_are_refused():
    have = {V1, V2, BY, P, S} | PLUGS
    steps = order("wipe sleeve", have)
    assert on(steps, have).refused == ()
    said = on(acting(steps, "let water in slowly", "shut the cocks"), have).refused
    assert f"let water in slowly: inlet valve: open with the {S} open" in said
    said = on(acting(steps, "wait and read", "warm"), have).refused
    assert "wait and read: read: the lamp is not warm yet" in said


@pytest.mark.parametrize("task", ["wipe sleeve", "wipe sensor window"])
def test_a_reading_taken_dark_open_or_in_air_does_not_count(task):
    have = {V1, V2, BY, P, S} | PLUGS
    steps = order(task, have)
    for before in ("plug the unit in", "bleed the chamber at the sampling valve after UV"):
        said = on(placed(steps, "wait and read", before), have).refused
        assert "wait and read: read: the unit is dark, open or in air" in said
    assert any("out before a reading" in one for one in on(both_wiped(have), have).faults)


def both_wiped(have):
    """Window and sleeve in one opening: nobody can tell which of them was low."""
    window, sleeve = order("wipe sensor window", have), order("wipe sleeve", have)
    own = {step.id for step in window} - {step.id for step in sleeve}
    at = next(i for i, step in enumerate(sleeve) if step.id == "let the lamp cool")
    return [*sleeve[:at], sleeve[at + 2], *(step for step in window if step.id in own), *sleeve[at:]]


@pytest.mark.parametrize("name", list(built_in()))
def test_a_lamp_is_changed_without_opening_any_water(name):
    """It stands dry in its sleeve: nothing is relieved, no cock runs in the dark, the chamber stays full."""
    site = load(name)
    steps = site.steps("replace lamp")
    worked = [pair for step in steps for pair in step.operates.items()]
    dark = worked[worked.index(("UV plug", "out")) : worked.index(("UV plug", "in"))]
    wet = {"housing", "UV chamber", "sleeve", P, R, S, CHAMBER, "lowest tap", "tap upstairs"}
    assert not wet & {device for device, _ in dark}
    assert "run" not in [act for step in steps[: _place(steps, "plug the unit in")] for act in step.acts]
    assert (
        _place(steps, "shut the outlet")
        < _place(steps, "unplug the unit")
        < _place(steps, "let the old lamp cool")
    )
    assert (
        _place(steps, "put the new lamp in")
        < _place(steps, "plug the unit in")
        < _place(steps, "open the outlet")
    )
    done = on(steps, set(fittings(site)))
    assert done.refused == done.notes == ()
    live = [step for step in steps if step.id not in ("shut the inlet", "let water in slowly")]
    assert "lamp: out with the water on" in on(live, set(fittings(site))).refused[0]
    sleeve = [step for step in order("wipe sleeve", set(fittings(site))) if step.id == "loosen the gland"]
    at = _place(steps, "take the old lamp out") + 1
    said = on([*steps[:at], *sleeve, *steps[at:]], set(fittings(site))).refused
    assert any("UV chamber: opened under pressure" in one for one in said)  # its gland is another matter


def _place(steps, step_id):
    return next(number for number, step in enumerate(steps) if step.id == step_id)


def every_train():
    """All trains of eight fittings: no shut-off valve, or one at either end, with and without its lever."""
    some = (V1, V2, BY, P, R, S, CHAMBER, "tank drain")
    for count in range(len(some) + 1):
        for chosen in itertools.combinations(some, count):
            for valve in ((), (IN,), (OUT,), (IN, LEVER), (OUT, LEVER)):
                yield {*chosen, *valve} | PLUGS


def cock_reaches(have: set[str], segment: str) -> bool:
    """Whether zero can be proven there with the unit dark, read off a drawing of the train."""
    sides = {"H": {P, R}, "U": {CHAMBER}, "O": {S}}
    whole = LEVER in have or not have & {IN, OUT}
    groups = [{"H", "U", "O"}] if whole else ([{"H"}, {"U", "O"}] if IN in have else [{"H", "U"}, {"O"}])
    group = next(one for one in groups if segment in one)
    return bool(have & set().union(*(sides[one] for one in group))) or not have & {IN, OUT}


def test_trains_are_refused_where_zero_cannot_be_proven_or_the_chamber_not_bled():
    site, counts = load("family_house"), {True: 0, False: 0}
    for have in every_train():
        fine = refused(site, "change cartridge", frozenset(have)) == ()
        # air of the housings reaches a chamber joined to them, and leaves it only at its far end
        airless = OUT not in have or LEVER in have or CHAMBER in have
        assert fine == (cock_reaches(have, "H") and airless), have
        fine_sleeve = refused(site, "wipe sleeve", frozenset(have)) == ()
        filled = not have & {IN, OUT} or LEVER in have or (OUT in have and CHAMBER in have)
        assert fine_sleeve == (cock_reaches(have, "U") and filled), have
        for task in (
            "replace lamp",
            "restore precharge",
            "clean cistern",
            "repair pump",
            "repair pressure tank",
        ):
            assert refused(site, task, frozenset(have)) == (), (task, have)
        counts[fine] += 1
    assert min(counts.values()) > 100


def test_a_train_that_cannot_be_served_is_told_what_it_lacks():
    site = load("family_house")
    kept = tuple(one for one in site.fittings if one.name not in (P, "tank valve"))
    uv = site.uv.model_copy(update={"shutoff_valve": True})
    train = site.model_copy(update={"fittings": kept, "uv": uv})
    assert OUT in fittings(train)  # the file does not say where it sits: the worst place
    assert lacks(train, "change cartridge") == (CHAMBER,)
    for name in lacks(train, "change cartridge"):
        assert refused(train, "change cartridge", fittings(train) | {name}) == ()


def test_what_a_missed_step_leads_to_is_told_by_the_same_plant():
    site = load("cottage")
    assert any(
        "4.00" in one or "3.50 bar" in one
        for one in missed(site, "change cartridge", "relieve at the lowest tap")
    )
    assert "undosed water left in the house" in missed(site, "change cartridge", "flush every tap")
    assert "the unit is left dark" in missed(site, "change cartridge", "plug the unit in")


def test_raw_water_behind_an_open_bypass_is_seen():
    site = load("family_house")
    steps = [
        step.model_copy(update={"operates": {"bypass valve": "open"}})
        if step.id == "keep the bypass shut"
        else step
        for step in expanded(site.procedure("change cartridge"), site.blocks)
        if step.goes_with(fittings(site))
    ]
    said = on(steps, set(fittings(site))).refused
    assert "the bypass is left open" in said
    assert "undosed water left in the house" in said
