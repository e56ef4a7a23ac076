"""What a task can leave behind and what a slip can do: two closed lists, each entry with what it needs.

A task and a slip are data that name entries of these lists. What a task's effect does to the plant stands in
`sim/twin/people/service.py`, what calls for it in `sim/upkeep/rules.py`, what a slip does in
`sim/twin/people/faults.py`.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

TaskEffect = Literal[
    "new cartridge",
    "rinsed cartridge",
    "new lamp",
    "wiped sleeve",
    "wiped sensor window",
    "set precharge",
    "new pump",
    "new pressure tank",
    "cleared gutters",
    "cleaned cistern",
    "sample",
]
SlipEffect = Literal[
    "water shut",
    "pump off",
    "unit dark",
    "bypass open",
    "leak",
    "low reading",
    "spill under pressure",
    "cartridges swapped",
    "cartridge missing",
]


@dataclass(frozen=True)
class Needs:
    """What goes with an effect of a task."""

    stage: bool = False  # a rule says on which stage
    shut: bool = False  # cannot be done with the water on
    unplugged: bool = False  # cannot be done with the UV unit plugged in
    share: bool = False  # can be done in part
    noticed: bool = False  # something the household notices calls for it
    readings: tuple[str, ...] = ()  # that can call for it


TASK_EFFECTS: Mapping[TaskEffect, Needs] = {
    "new cartridge": Needs(stage=True, shut=True, noticed=True, readings=("drop_above", "uv_below")),
    "rinsed cartridge": Needs(stage=True, share=True, noticed=True, readings=("drop_above", "uv_below")),
    "new lamp": Needs(unplugged=True, noticed=True, readings=("uv_below",)),
    "wiped sleeve": Needs(shut=True, unplugged=True, noticed=True, readings=("uv_below",)),
    "wiped sensor window": Needs(unplugged=True, noticed=True, readings=("uv_below",)),
    "set precharge": Needs(shut=True, readings=("precharge_off",)),
    "new pump": Needs(shut=True, noticed=True),
    "new pressure tank": Needs(shut=True, noticed=True, readings=("precharge_off",)),
    "cleared gutters": Needs(share=True, readings=("uv_below",)),
    "cleaned cistern": Needs(share=True, readings=("uv_below",)),
    "sample": Needs(readings=("uv_below",)),
}
WIPES = frozenset({"wiped sleeve", "wiped sensor window"})  # what gives light back without a new part
RENEWALS = frozenset({"new pump", "new pressure tank"})  # a new piece of equipment
UNMEASURED = frozenset({"sample"})  # nothing in the twin follows from it unless it finds something

# Slips that change the plant itself: one of a kind at a time.
ALONE = frozenset({"bypass open", "cartridges swapped", "cartridge missing"})
AT_STAGE = frozenset({"cartridges swapped", "cartridge missing"})  # seen by whoever opens a housing
AT_ONCE = frozenset({"bypass open", "spill under pressure"})  # as the work begins, the others as it ends
# The number that goes with an effect of a slip, and with no other.
SLIP_AMOUNTS: Mapping[SlipEffect, str] = {
    "leak": "leak",
    "low reading": "reading_left",
    "spill under pressure": "spill",
}


def any_needs(effects: Iterable[TaskEffect], what: str) -> bool:
    """Return whether one of some effects needs or allows something."""
    return any(getattr(TASK_EFFECTS[effect], what) for effect in effects)


def readings_for(effects: Iterable[TaskEffect]) -> tuple[str, ...]:
    """Return the readings that can call for a task with some effects, the usual one first."""
    return tuple(dict.fromkeys(name for effect in effects for name in TASK_EFFECTS[effect].readings))
