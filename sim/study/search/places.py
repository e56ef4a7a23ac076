"""A value of a scenario by its key, such as "stage.sediment.size" or "task[replace lamp].part_price"."""

import re
from typing import Any

from sim.errors import InputError
from sim.scenario.nearest import nearest
from sim.scenario.read.merge import ENTRY_KEYS

_STEP = re.compile(r"\[([^\]]+)\]|([^.\[\]]+)")


MAY_LACK = frozenset({"uv.restrictor", "cistern.mains_flow"})  # single values that stand for a part


def steps_of(key: str) -> tuple[str, ...]:
    """Return the steps of a key; refused when it is no key.

    Examples
    --------
    >>> steps_of("stage[sediment].size") == steps_of("stage.sediment.size")
    True
    """
    steps = tuple((entry or plain).strip() for entry, plain in _STEP.findall(key))
    if not steps or not all(steps):
        raise InputError(f"{key!r} is no key; wanted one such as 'stage.sediment.size'")
    return steps


def value_at(tables: dict[str, Any], key: str) -> Any:
    """Return what the tables say at a key, None for a part a site may lack; refused when there is none."""
    holder, last = _holder(tables, key)
    if isinstance(holder, list):
        return holder[last]
    if last not in holder:
        if may_lack(key):
            return None
        raise InputError(f"{key}: is not a known key; {nearest(str(last), map(str, holder))}")
    return holder[last]


def put(tables: dict[str, Any], key: str, value: Any) -> None:
    """Set what the tables say at a key; the scenario says whether the value will do."""
    holder, last = _holder(tables, key)
    holder[last] = value


def may_lack(key: str) -> bool:
    """Return whether a key such as "uv.restrictor" is of a part that a site may go without."""
    return ".".join(steps_of(key)) in MAY_LACK


def leave_out(tables: dict[str, Any], key: str) -> None:
    """Take an entry out of its list, such as a stage, with the rules and the spare that are about it."""
    holder, last = _holder(tables, key)
    if may_lack(key):
        holder.pop(last, None)
        return
    if not isinstance(holder, list):
        raise InputError(f"{key}: only an entry of a list can be left out, such as 'stage.carbon'")
    steps = steps_of(key)
    del holder[last]
    if steps[0] == "stage":
        for policy in tables["policy"]:
            policy["rule"] = [rule for rule in policy["rule"] if rule.get("stage") != steps[-1]]
        tables["spare"] = [spare for spare in tables["spare"] if spare.get("part") != steps[-1]]


def _holder(tables: dict[str, Any], key: str) -> tuple[Any, Any]:
    """Return the table or list that holds a key, and the key's name or place in it."""
    here: Any = tables
    before = ""
    *path, last = steps_of(key)
    for step in path:
        here, before = here[_place(here, step, before, key)], step
    return here, _place(here, last, before, key, there=False)


def _place(here: Any, step: str, before: str, key: str, there: bool = True) -> Any:
    if isinstance(here, dict):
        if there and step not in here:
            raise InputError(f"{key}: {step!r} is not a known key; {nearest(step, map(str, here))}")
        return step
    if not isinstance(here, list):
        raise InputError(f"{key}: nothing stands under {before!r}; wanted a key of the scenario")
    name = ENTRY_KEYS.get(before, "")
    known = [str(item.get(name, at)) for at, item in enumerate(here, 1)]
    if step not in known:
        raise InputError(f"{key}: no {before} {step!r}; {nearest(step, known)}")
    return known.index(step)
