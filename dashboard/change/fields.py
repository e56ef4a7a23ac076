"""What the schema says of a key: kind of quantity, limits, choices; and its value as people read it."""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import NoneType
from typing import Any, Literal, cast, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from sim.errors import InputError
from sim.scenario.climate import climates
from sim.scenario.read.merge import ENTRY_KEYS
from sim.scenario.scenario import Scenario
from sim.scenario.values.numbers import kind_of
from sim.scenario.values.quantity import Names
from sim.units import SHOWN, ShownKind, from_si, parse, units_of

Path = tuple[str, ...]  # keys as in a file; after a key of a list of tables the name of an entry
Value = str | float | int | bool
LEFT_OUT = ""  # of a key that says by its absence that there is no such thing

_NUMBER = re.compile(r"\s*[+-]?(?:\d[\d_]*\.?\d*|\.\d+)(?:[eE][+-]?\d+)?\s*")
# The unit that says the same in the other system; a unit that stands in neither table is read in both.
_IN_SI = {
    "psi": "kPa", "gpm": "L/min", "gal": "L", "ft": "m", "in": "mm", "ft2": "m2", "F": "C", "lb": "kg",
    "gal/d": "L/d", "ft3": "m3", "psi/yr": "kPa/yr", "psi/gpm": "kPa/(L/min)",
    "psi/gpm2": "kPa/(L/min)2", "ft/gpm2": "m/(L/min)2", "1/in": "1/mm", "lb/ft3": "kg/m3",
}  # fmt: skip
_IN_US = {
    "kPa": "psi", "Pa": "psi", "bar": "psi", "MPa": "psi", "L/min": "gpm", "L/s": "gpm", "m3/h": "gpm",
    "m3/s": "gpm", "L": "gal", "m3": "gal", "m": "ft", "cm": "in", "mm": "in", "m2": "ft2", "C": "F",
    "L/d": "gal/d", "kPa/yr": "psi/yr", "kPa/(L/min)": "psi/gpm", "kPa/(L/min)2": "psi/gpm2",
    "m/(L/min)2": "ft/gpm2",
}  # fmt: skip
_WORDS = {"gt": "above", "ge": "at least", "lt": "below", "le": "at most"}


@dataclass(frozen=True)
class Field:
    """A key of a scenario as its schema declares it."""

    path: Path  # where it stands
    type: type  # float, int, bool or str
    # kind of quantity, a key of `sim.units.FACTORS` or "temperature"; None for a plain number or a word
    kind: str | None
    choices: tuple[str, ...]  # words it may be; empty when it is free
    bounds: Mapping[str, float]  # "gt", "ge", "lt", "le" to the number in SI
    default: Value | None  # what it is when it is left out, as a file would write it
    names: Mapping[str, float]  # names that may be written for numbers, to those numbers
    optional: bool = False  # it may say nothing, and then there is no such thing


def key_of(path: Path) -> str:
    """Return a path as messages write it, such as "stage[sediment].price"."""
    said = ""
    before = ""
    for step in path:
        if before in ENTRY_KEYS:
            said, before = f"{said}[{step}]", ""
        else:
            said, before = f"{said}.{step}" if said else step, step
    return said


def field_at(path: Path, model: type[BaseModel] = Scenario) -> Field:
    """Return what the schema says of a key.

    Raises
    ------
    KeyError
        When the schema has no such key, or it holds a table.
    """
    steps = iter(path)
    for step in steps:
        found = _declared(model, step)
        kinds = (found.annotation, *get_args(found.annotation))
        inner = next((k for k in kinds if isinstance(k, type) and issubclass(k, BaseModel)), None)
        if inner is None:
            if next(steps, None) is not None:
                break
            return _field(path, found)
        model = inner
        if get_origin(found.annotation) is tuple and next(steps, None) is None:
            break
    raise KeyError(key_of(path))


def _declared(model: type[BaseModel], key: str) -> FieldInfo:
    for name, found in model.model_fields.items():
        if key == (found.alias or name):
            return found
    raise KeyError(key)


def _field(path: Path, found: FieldInfo) -> Field:
    annotation: Any = found.annotation
    inner = [arg for arg in get_args(annotation) if arg is not NoneType]
    optional = NoneType in get_args(annotation)
    if optional:
        annotation = inner[0]
    choices = tuple(get_args(annotation)) if get_origin(annotation) is Literal else ()
    if path == ("rain", "climate"):
        choices = climates()  # names of built-in tables; the schema takes any, the reader of tables does not
    held = next((t for t in (bool, int, float) if annotation is t), str)
    kind = kind_of(found)
    bounds = {
        name: float(getattr(mark, name))
        for name in _WORDS
        for mark in found.metadata
        if getattr(mark, name, None) is not None
    }
    default = None if found.is_required() else found.default
    if bounds.get("ge", 0.0) > bounds.get("gt", math.inf):  # the wider one says nothing more
        del bounds["gt"]
    names = next((mark.numbers for mark in found.metadata if isinstance(mark, Names)), {})
    return Field(path, float if kind else held, kind, choices, bounds, default, names, optional)


def said_limits(field: Field, unit: str) -> str:
    """Return the limits of a key in words, such as "above 0 %, at most 100 %"; blank when it has none."""
    parts = []
    for name, word in _WORDS.items():
        if name in field.bounds:
            number = field.bounds[name]
            shown = from_si(number, unit, field.kind) if field.kind else number
            parts.append(f"{word} {_digits(shown)} {unit}".strip())
    return ", ".join(parts)


def unit_for(field: Field, written: object, system: str) -> str:
    """Return the unit a key is shown in: the one it is written in, or its fellow in the other system.

    Parameters
    ----------
    system : str
        "us" or "si".
    """
    if field.kind is None:
        return ""
    if field.kind == "fraction":
        return "%"
    read = _NUMBER.sub("", written, count=1).strip() if isinstance(written, str) else ""
    if read not in units_of(field.kind):
        known = SHOWN[system].get(cast("ShownKind", field.kind))
        return known.unit if known else units_of(field.kind)[0]
    fellow = (_IN_SI if system == "si" else _IN_US).get(read, read)
    return fellow if fellow in units_of(field.kind) else read


def said(field: Field, value: object, unit: str) -> str:
    """Return a value as people read and write it, such as "40 psi"; as it stands when it cannot be read."""
    if value is None or value == LEFT_OUT:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    number = in_si(field, value)
    if field.kind is None or number is None:
        return _digits(value) if isinstance(value, float) else str(value)
    return f"{_digits(from_si(number, unit, field.kind))} {unit}"


def in_si(field: Field, value: object) -> float | None:
    """Return the number a written value stands for [SI], None when it stands for none."""
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        return None
    if not isinstance(value, str):
        return float(value)
    if value in field.names:
        return field.names[value]
    try:
        if field.names:
            return float(value)
        return parse(value, field.kind) if field.kind else None
    except (InputError, ValueError):
        return None


def as_typed(field: Field, typed: str, unit: str) -> str:
    """Return what was typed; a bare number is meant in the unit that was shown."""
    return f"{typed.strip()} {unit}" if field.kind and _NUMBER.fullmatch(typed) else typed.strip()


def same(field: Field, one: object, other: object) -> bool:
    """Return whether two written values say the same, to the last digits that units may cost."""
    first, second = in_si(field, one), in_si(field, other)
    if field.optional and {one, other} <= {None, LEFT_OUT}:
        return True
    if first is None or second is None:
        return one == other
    return abs(first - second) <= 1e-12 * max(abs(first), abs(second))


def read(tables: Mapping[str, Any], path: Path) -> Any:
    """Return what tables hold at a path, None when they leave it out."""
    here: Any = tables
    before = ""
    for step in path:
        if isinstance(here, list):
            here = _entry(here, before, step)
        else:
            here = here.get(step) if isinstance(here, dict) else None
        before = step
    return here


def by_file_keys(tables: Any, model: type[BaseModel] = Scenario) -> Any:
    """Return tables with every key as files write it; a field's own name is taken for it too."""
    if isinstance(tables, list):
        return [by_file_keys(item, model) for item in tables]
    if not isinstance(tables, dict):
        return tables
    found = {}
    for key, value in tables.items():
        name, declared = next(
            ((n, f) for n, f in model.model_fields.items() if key in (n, f.alias)), (key, None)
        )
        kinds = (declared.annotation, *get_args(declared.annotation)) if declared else ()
        inner = next((k for k in kinds if isinstance(k, type) and issubclass(k, BaseModel)), None)
        alias = declared.alias or name if declared else key
        found[alias] = by_file_keys(value, inner) if inner else value
    return found


def _entry(entries: Sequence[Any], kind: str, name: str) -> Any:
    return next((item for item in entries if item.get(ENTRY_KEYS[kind]) == name), None)


def _digits(number: float) -> str:
    return f"{float(f'{number:.6g}'):.15g}"
