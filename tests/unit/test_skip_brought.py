"""What work left undone can bring, and when a house cannot be used for want of water."""

import numpy as np
import pytest

from sim.outcome.brought import anything, brought
from sim.outcome.unusable import dry_days, unusable_days, unusable_from_day
from sim.plant import cause, state
from sim.scenario.care import Policy
from sim.scenario.read import load


def left(*rules, skip):
    told = [{"task": task, "when": "calendar", "stage": stage} for task, stage in rules]
    return Policy.model_validate({"name": "left", "rule": told, "skip": skip})


RULES = (("change cartridge", "sediment"), ("change cartridge", "carbon"), ("wipe sleeve", None),
         ("restore precharge", None), ("take sample", None))  # fmt: skip


@pytest.mark.parametrize(
    ("skip", "causes", "stages", "parts", "starts"),
    [
        ({"task": "wipe sleeve"}, {cause.FILM, cause.PUT_OFF}, set(), set(), False),
        ({"task": "restore precharge"}, {cause.PUMP_BROKEN, cause.PUT_OFF}, set(), {"pump"}, True),
        ({"task": "take sample"}, set(), set(), set(), False),
        ({"task": "replace lamp"}, set(), set(), set(), False),  # no rule asks for it
    ],
)
def test_what_a_task_brings(skip, causes, stages, parts, starts):
    found = brought(load.load(load.DEMO), left(*RULES, skip=[skip]))
    assert (found.causes, found.stages, found.parts, found.starts) == (causes, stages, parts, starts)
    assert found.light == (cause.FILM in causes)


def test_what_is_not_known_can_bring_anything():
    found = anything(load.load(load.DEMO))
    assert found.starts and found.light
    assert len(found.causes) == len(cause.CAUSES)
    assert found.stages == {"sediment", "carbon"}
    assert {"lamp", "pump", "bladder"} <= found.parts


def test_a_cartridge_brings_dirt_to_those_behind_it():
    """Sediment stands before carbon: a torn sediment cartridge loads carbon, never the other way round."""
    scenario = load.load(load.DEMO)
    task = "change cartridge"
    first = brought(scenario, left(*RULES, skip=[{"task": task, "stage": "sediment"}]))
    last = brought(scenario, left(*RULES, skip=[{"task": task, "stage": "carbon"}]))
    assert first.stages == {"sediment", "carbon"}
    assert last.stages == {"carbon"}
    assert cause.CLOGGED in first.causes
    assert cause.LAMP_DIED not in first.causes  # dirt ends no lamp; a new one fell on another day by chance
    assert first.parts == set()


def test_chance_and_people_are_never_brought():
    found = brought(load.load(load.DEMO), left(*RULES, skip=[{"task": "everything"}]))
    assert not found.causes & {
        cause.POWER_CUT, cause.SERVICE, cause.UNPLUGGED, cause.VALVE_SHUT, cause.BYPASS_OPEN, cause.OTHER_SLIP
    }  # fmt: skip
    assert found.parts == {"pump"}  # no rule renews lamp or tank
    assert found.starts


@pytest.mark.parametrize(
    ("dry", "unusable"),
    [
        ([], []),
        (range(6), []),
        (range(7), range(7)),
        (range(193, 200), range(193, 200)),
        ([*range(5, 12), *range(13, 19)], range(5, 12)),
        (range(0, 200, 2), []),
    ],
)
def test_a_house_is_unusable_after_a_week_of_dry_days(tiny, blank_history, dry, unusable):
    house = blank_history(tiny(), 200)
    house.days[list(dry), state.WATER_OFF] = 23 * 3600.0
    house.days[150, state.WATER_OFF] = max(house.days[150, state.WATER_OFF], 22.9 * 3600.0)
    assert np.flatnonzero(dry_days(house)).tolist() == list(dry)
    assert np.flatnonzero(unusable_days(house)).tolist() == list(unusable)
    first = unusable_from_day(unusable_days(house))
    assert first == min(unusable) if unusable else np.isnan(first)


def test_a_day_is_dry_from_23_hours_on(tiny, blank_history):
    days = state.new_days(3)
    days[:, state.WATER_OFF] = 82_800.0, 82_799.0, 86_400.0
    assert dry_days(blank_history(tiny(), 3, days=days)).tolist() == [True, False, True]
