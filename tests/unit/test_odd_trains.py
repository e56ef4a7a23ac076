"""Trains plumbed oddly, as sites say them: each is served without harm, or is told which fitting it lacks.

The verdicts are worked out by hand from a drawing of each train; the rules behind them are common practice,
no source. 3 m of water above the housings leave 0.29 bar in them: 9.81 kPa a metre, physics.
"""

import pytest

from sim.errors import InputError
from sim.scenario.procedure import AT_REST, RETURN
from sim.scenario.read.load import load_text
from sim.study.visits.plumbing import done, fittings, lacks, refused

HEAD = 'extends = "base"\nname = "Odd"\nsummary = "Invented."\n'
WET = ("wipe sensor window", "wipe sleeve")
OPENED = ("change cartridge", *WET)
V1, V2, BY, P, S = (
    "inlet valve",
    "outlet valve",
    "bypass valve",
    "sampling valve before UV",
    "sampling valve after UV",
)
DRAIN, BUTTON, CHAMBER = "tank drain", "relief button", "chamber sampling valve"
IN, OUT, LEVER = "shut-off valve at inlet", "shut-off valve at outlet", "shut-off lever"


def site(without=(), more=(), rest=""):
    text = HEAD + rest + "".join(f'[[fitting]]\nname = "{one}"\ndrop = true\n' for one in without)
    text += "".join(f'[[fitting]]\nname = "{one}"\nwhere = "as drawn"\n' for one in more)
    return load_text(text + ("[uv]\nshutoff_valve = true\n" if {IN, OUT} & set(more) else ""), "odd.toml")


def refusals(train):
    names = [*(one.name for one in (*train.tasks, *train.guides)), RETURN]
    return {name: lacks(train, name) for name in names if refused(train, name)}


@pytest.mark.parametrize(
    "train",
    [
        site(),  # no valve at the unit
        site((P, S, BY)),  # nothing round it, no cock: relieved at the lowest tap
        site((V1, P, S)),  # nothing to shut towards the tank, which runs out with the train
        site((V1, V2, BY, P, S, DRAIN, "tank valve")),  # no fitting at all but the plugs
        site((V2, P, S)),  # nothing holds the house: it is drained at two taps
        site((P, S), (BUTTON,)),  # relieved at a button of the housing alone
        site((P, S), (CHAMBER,)),
        site((P,), (OUT, LEVER)),  # a valve at the outlet that a lever holds open
        site((), (IN, OUT, LEVER)),  # at both ends, held
        site(rest='[[stage]]\nname = "sediment"\nhousings = 2\n'),  # two housings side by side
        site((P, S), (), '[house]\nlift = "0 m"\nlowest_tap = "-2 m"\n'),  # all taps below the housings
    ],
    ids=["plain", "no cock", "no inlet valve", "bare", "no outlet valve", "button", "chamber cock",
         "outlet lever", "both ends, lever", "two housings", "taps below"],
)  # fmt: skip
def test_what_can_be_served_ends_lit_dosed_and_told(train):
    assert refusals(train) == {}
    for task in train.tasks:
        ended = done(train, train.steps(task.name), fittings(train))
        assert ended.lit and ended.water_on and not ended.raw, task.name


@pytest.mark.parametrize(
    ("train", "wanted"),
    [
        # dark, the valve shuts behind the chamber: nothing can be proven or bled before it
        (site((P, S, BY), (OUT,)), dict.fromkeys(OPENED, (CHAMBER,))),
        (site((P,), (OUT,)), dict.fromkeys(OPENED, (CHAMBER,))),
        # before the chamber: the housings want a cock of their own, the chamber cannot be filled in the dark
        (site((P,), (IN,)), {"change cartridge": (BUTTON,), **dict.fromkeys(WET, (LEVER,))}),
        (site((), (IN,)), dict.fromkeys(WET, (LEVER,))),
        (site((P, V2), (IN, BUTTON)), dict.fromkeys(WET, (LEVER,))),
        (site((), (IN, OUT)), dict.fromkeys(WET, (LEVER,))),
        # the lowest tap is upstairs: it leaves 0.29 bar, so a cock at the train is wanted
        (site((P, S), (), '[house]\nlift = "6 m"\nlowest_tap = "3 m"\n'), dict.fromkeys(OPENED, (BUTTON,))),
    ],
    ids=["outlet, no cock", "outlet, cock behind", "inlet, cock behind", "inlet", "inlet, no outlet valve",
         "both ends", "taps upstairs"],
)  # fmt: skip
def test_what_cannot_be_served_is_told_what_it_lacks(train, wanted):
    """And with what it lacks it can be: else the sheet would sell a fitting that does not help."""
    assert refusals(train) == wanted
    for task, more in wanted.items():
        assert refused(train, task, fittings(train) | set(more)) == ()


def test_taps_upstairs_leave_their_column_in_the_housings():
    train = site((P, S), (), '[house]\nlift = "6 m"\nlowest_tap = "3 m"\n')
    assert any("0.29 bar" in one for one in refused(train, "change cartridge"))


def test_a_bypass_found_open_leaves_raw_water_that_no_single_tap_flushes():
    train = site()
    begin = {**AT_REST, BY: "open"}
    for task in ("change cartridge", "replace lamp"):
        ended = done(train, train.steps(task), fittings(train), begin)
        assert not ended.raw  # a step shuts it
        assert "undosed water left in the house" in ended.left
        step = next(step for step in train.steps(task) if step.operates.get(BY) == "shut")
        assert "return to service" in step.text
    back = [*train.steps("change cartridge"), *train.steps(RETURN)]
    assert "undosed water left in the house" not in done(train, back, fittings(train), begin).left


def test_a_house_without_valves_is_not_told_to_shut_them():
    """Words of the sheets of a bare train name no valve that it lacks."""
    train = site((V1, V2, BY, P, S, DRAIN, "tank valve"))
    for name in (*(one.name for one in (*train.tasks, *train.guides)), RETURN):
        for step in train.steps(name):
            for order in ("shut the outlet valve", "open the outlet valve", "shut the inlet valve"):
                assert order not in step.text.lower(), (name, step.id)


def test_a_train_without_a_pump_switch_is_refused_in_one_line():
    with pytest.raises(InputError, match="no 'pump switch', which procedures work"):
        site(("pump switch",))
