"""Every number of a scenario under its key in the file, and the same numbers laid into another scenario."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any, get_args

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from sim.scenario.care import Task
from sim.scenario.read.merge import ENTRY_KEYS
from sim.scenario.scenario import Scenario
from sim.scenario.values.quantity import Kind
from sim.units import FACTORS


@dataclass(frozen=True)
class Number:
    """One number of a scenario."""

    key: str  # key in the file, entries of lists by name: "stage[carbon].dirt_capacity"
    kind_key: str  # the same without names: "stage.dirt_capacity"
    value: float  # value, in SI
    kind: str | None  # a key of `sim.units.FACTORS`, "temperature", or None for a plain number
    stated: bool  # whether a file says it; else it is the default of the model
    whole: bool  # whether it counts something


def numbers(scenario: Scenario) -> tuple[Number, ...]:
    """Return the numbers of a scenario."""
    return tuple(_walk(scenario, "", ""))


def kind_of(field: FieldInfo) -> str | None:
    """Return the kind of quantity a field declares.

    A key of `sim.units.FACTORS`, "temperature", or None for a plain number or a word.
    """
    inner = [mark for arg in get_args(field.annotation) for mark in getattr(arg, "__metadata__", ())]
    return next((mark.name for mark in (*field.metadata, *inner) if isinstance(mark, Kind)), None)


def with_values(scenario: Scenario, values: Mapping[str, float | str]) -> Scenario:
    """Return a scenario with some values changed, checked like one read from a file.

    Raises
    ------
    pydantic.ValidationError
        When the values do not go together, such as a floor above its start.
    KeyError
        When a key is not there.
    """
    left = dict(values)
    changed = frozenset(key[:at] for key in values for at, sign in enumerate(key) if sign in ".[")
    tables = _tables(scenario, "", left, changed)
    if left:
        raise KeyError(next(iter(left)))
    return Scenario.model_validate(tables)


def si_unit(kind: str) -> str:
    """Return the unit of a kind that is SI, so that a number keeps its bits when written and read.

    Unit label; empty for a fraction.

    Parameters
    ----------
    kind : str
        A key of `sim.units.FACTORS`, or "temperature".

    Examples
    --------
    >>> si_unit("pressure"), si_unit("pressure rate")
    ('Pa', 'Pa/s')
    """
    return "C" if kind == "temperature" else next(u for u, factor in FACTORS[kind].items() if factor == 1.0)


@cache
def _fields(model: type[BaseModel]) -> tuple[tuple[str, str, str | None], ...]:
    """Return name, key in the file and kind of each field; every run asks, and reading types is slow."""
    return tuple((name, one.alias or name, kind_of(one)) for name, one in model.model_fields.items())


def _walk(part: BaseModel, key: str, kind_key: str) -> Iterator[Number]:
    for name, alias, kind in _fields(type(part)):
        value = getattr(part, name)
        here, kind_here = _join(key, alias), _join(kind_key, alias)
        if isinstance(value, BaseModel):
            yield from _walk(value, here, kind_here)
        elif isinstance(value, tuple):
            for at, item in enumerate(value, 1):
                if isinstance(item, BaseModel):
                    yield from _walk(item, f"{here}[{_called(item, alias, at)}]", kind_here)
        elif isinstance(value, Mapping):
            for word, item in value.items():
                if isinstance(item, int | float):
                    yield Number(_join(here, word), kind_here, float(item), kind, True, False)
        elif isinstance(value, int | float) and not isinstance(value, bool):
            stated = name in part.model_fields_set
            yield Number(here, kind_here, float(value), kind, stated, isinstance(value, int))


def _part(
    part: BaseModel, key: str, left: dict[str, float | str], changed: frozenset[str]
) -> BaseModel | dict[str, Any]:
    """Return a part as it is where nothing in it changes: it was checked, and checking takes long.

    A task is checked again: its minutes hang on fittings and units that are no part of it.
    """
    return _tables(part, key, left, changed) if key in changed or isinstance(part, Task) else part


def _tables(
    part: BaseModel, key: str, left: dict[str, float | str], changed: frozenset[str]
) -> dict[str, Any]:
    """Return a part as its file would have it, taking changed values out of those left."""
    found: dict[str, Any] = {}
    for name, alias, kind in _fields(type(part)):
        value = getattr(part, name)
        here = _join(key, alias)
        if isinstance(value, BaseModel):
            found[alias] = _part(value, here, left, changed)
        elif isinstance(value, tuple):
            found[alias] = [
                _part(item, f"{here}[{_called(item, alias, at)}]", left, changed)
                if isinstance(item, BaseModel)
                else item
                for at, item in enumerate(value, 1)
            ]
        elif isinstance(value, Mapping):
            found[alias] = {
                word: written(left.pop(_join(here, word), item), kind) for word, item in value.items()
            }
        elif here in left or name in part.model_fields_set:
            found[alias] = written(left.pop(here, value), kind)
    return found


def written(value: Any, kind: str | None) -> Any:
    """Return a value as its file would have it, a quantity with its SI unit."""
    if isinstance(value, dict):
        return {name: written(item, kind) for name, item in value.items()}
    if kind is None or isinstance(value, str | bool | date) or value is None:
        return value
    return f"{float(value)!r} {si_unit(kind)}".strip()


def _called(item: BaseModel, alias: str, at: int) -> str:
    return str(getattr(item, ENTRY_KEYS.get(alias, ""), at))


def _join(key: str, name: str) -> str:
    return f"{key}.{name}" if key else name
