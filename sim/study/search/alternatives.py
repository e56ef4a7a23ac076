"""Alternatives for any value of a scenario, and the designs they make together."""

import contextlib
import copy
import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sim.errors import InputError
from sim.scenario.quotation import Item
from sim.scenario.read.scenario_tables import scenario_of, tables_of
from sim.scenario.scenario import Scenario
from sim.scenario.sizing import Alternative, Given
from sim.study.runs.request import Design
from sim.study.search import quoted
from sim.study.search.catalogue import bring
from sim.study.search.places import leave_out, may_lack, put, steps_of, value_at

WITH, WITHOUT = "with", "without"
ITEM = "item."  # how keys of quoted parts begin
MOST_DESIGNS = 2000  # more than a night's work on most machines
_WORDS = {
    "uv.rated_flow": "UV",
    "uv.restrictor": "restrictor",
    "cistern.mains_flow": "mains",
    "pressure_tank.volume": "tank",
    "cistern.capacity": "cistern",
    "pump.best_flow": "pump",
}


@dataclass(frozen=True)
class Choice:
    """What one design has of every alternative."""

    values: tuple[Given, ...]  # one value for each alternative, in their order
    design: Design  # the house that comes of it


def parse_try(text: str) -> Alternative:
    """Read alternatives from a line such as "stage.sediment.size=2.5x10,4.5x10".

    Refused when key or values are missing, or a value stands twice.
    """
    key, equals, rest = text.partition("=")
    values = tuple(value.strip() for value in rest.split(","))
    if not equals or not key.strip() or not all(values):
        raise InputError(
            f"try: read {text!r}; wanted KEY=VALUE,VALUE such as stage.sediment.size=2.5x10,4.5x10"
        )
    if len(set(values)) < len(values):
        raise InputError(f"try: {key.strip()}: a value stands twice in {rest.strip()!r}")
    return Alternative(key=key.strip(), values=values)


def gathered(scenario: Scenario, tries: Sequence[str], items: Sequence[Item] = ()) -> list[Alternative]:
    """Return the alternatives of the command line, or those of the scenario when there are none.

    Refused when there are none, or a key stands twice.
    """
    found = [parse_try(text) for text in tries] or list(scenario.alternatives)
    found += quoted.alternatives(items)
    if not found:
        raise InputError(
            "nothing to choose between: give --try KEY=VALUE,VALUE, --quotes FILE, or [[alternative]] in "
            "the site's file"
        )
    keys = [steps_of(one.key) for one in found]
    for at, key in enumerate(keys):
        if key in keys[:at]:
            raise InputError(f"try: {found[at].key} stands twice; wanted each key once")
    return found


def choices(
    scenario: Scenario,
    alternatives: Sequence[Alternative],
    policies: Sequence[str],
    items: Sequence[Item] = (),
) -> list[Choice]:
    """Return every combination of the alternatives as a design.

    Refused in one line, when a key or a value will not do or there are too many.
    """
    count = 1
    for one in alternatives:
        count *= len(one.values)
    if count > MOST_DESIGNS:
        raise InputError(f"{count:,} designs are asked for; wanted {MOST_DESIGNS:,} or fewer")
    tables = tables_of(scenario)
    found = []
    for values in itertools.product(*(one.values for one in alternatives)):
        chosen_values = dict(zip((one.key for one in alternatives), values, strict=True))
        made = variant(tables, {key: v for key, v in chosen_values.items() if not key.startswith(ITEM)})
        bought = [item for item in items if chosen_values[item.key] == item.name]
        for item in bought:
            quoted.put_item(made, item)
        label = ", ".join(called(one.key, value) for one, value in zip(alternatives, values, strict=True))
        try:
            house = scenario_of(made, f"try {label}")
        except InputError as error:
            raise quoted.placed(error, tables, bought) from None
        chosen = tuple(policy for policy in house.policies if policy.name in policies)
        found.append(Choice(values, Design(label, house, chosen)))
    return found


def variant(tables: dict[str, Any], values: dict[str, Given]) -> dict[str, Any]:
    """Return the tables of a scenario with other values, and with what goes with a size."""
    made = copy.deepcopy(tables)
    for key, value in values.items():
        old = value_at(made, key)
        if (isinstance(old, dict) or may_lack(key)) and value in (WITH, WITHOUT):
            continue  # last, so that sizes of a stage that is left out do no harm
        put(made, key, _like(old, value))
        if isinstance(old, str | int | float) and not isinstance(old, bool):
            bring(made, key, old, value_at(made, key))
    for key, value in values.items():
        if value not in (WITH, WITHOUT):
            put(made, key, _like(value_at(tables, key), value))
    for key, value in values.items():
        if value == WITHOUT and (isinstance(value_at(made, key), dict) or may_lack(key)):
            leave_out(made, key)
    return made


def called(key: str, value: Given) -> str:
    """Return what people call a value of an alternative: such as "sediment 4.5x10".

    Examples
    --------
    >>> called("stage.sediment.size", "4.5x10"), called("uv.rated_flow", "12 gpm")
    ('sediment 4.5x10', 'UV 12 gpm')
    """
    if key.startswith(ITEM):
        return str(value)
    steps = steps_of(key)
    if steps[0] == "stage" and steps[-1] == "size" and len(steps) == 3:
        return f"{steps[1]} {value}"
    if value in (WITH, WITHOUT):
        return f"{value} {steps[-1]}"
    named = steps[1:] if steps[0] == "stage" else steps
    return f"{_WORDS.get('.'.join(steps), ' '.join(named).replace('_', ' '))} {value}"


def _like(old: Any, value: Given) -> Given:
    """Return a number or a truth that was written as text as what it is: the command line has only text."""
    if not isinstance(old, int | float) or not isinstance(value, str):
        return value
    if isinstance(old, bool):
        return {"true": True, "false": False}.get(value, value)
    with contextlib.suppress(ValueError):  # the scenario refuses it, with its key
        return type(old)(value)
    return value


def check_alternatives(scenario: Scenario) -> None:
    """Refuse alternatives of a site of which one will not do, without making every design.

    Raises
    ------
    InputError
        One line: key, what was read, what is wanted.
    """
    tables = tables_of(scenario)
    for one in scenario.alternatives:
        where = f"alternative[{one.key}]"
        if len(set(map(str, one.values))) < len(one.values):
            raise InputError(f"{where}: a value stands twice; wanted each once")
        for value in one.values:
            try:
                made = variant(tables, {one.key: value})
            except InputError as error:
                raise InputError(f"{where}: {error}") from None
            scenario_of(made, f"{where} at {value}")
