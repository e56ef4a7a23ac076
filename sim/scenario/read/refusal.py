"""Words for what was refused: one line with the key, what was read, what is wanted."""

from collections.abc import Sequence
from typing import Any, get_args

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from sim.scenario.nearest import nearest
from sim.scenario.read.absent import said_of
from sim.scenario.read.merge import ENTRY_KEYS
from sim.scenario.scenario import Scenario
from sim.scenario.values.quantity import Kind, example
from sim.units import from_si, unit_written, units_of

_LONGEST = 60
_FEW = 2  # whole tables that are missing; with more, nothing is extended
_LIMITS = {
    "greater_than": ("above", "gt"),
    "greater_than_equal": ("at least", "ge"),
    "less_than": ("below", "lt"),
    "less_than_equal": ("at most", "le"),
}
_SECOND = {  # of which there is one table
    "uv": "two units alike are uv.units = 2",
    "pump": "a second pump that stands by is pump.standby",
}
_SHAPES = {"model_type": "a table", "tuple_type": "a list of tables", "too_short": "at least one entry"}


def one_line(text: str) -> str:
    """Return a text without line breaks and control characters.

    Examples
    --------
    >>> one_line("a\\n b")
    'a b'
    """
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def short(value: object) -> str:
    """Return a value as read, at most 60 characters long.

    Examples
    --------
    >>> len(short("x" * 1000))
    60
    """
    try:
        shown = str(value).lower() if isinstance(value, bool) else repr(value)
    except ValueError:  # an integer with more digits than Python prints
        shown = "a very long integer"
    except RecursionError:
        shown = "something deeply nested"
    return shown if len(shown) <= _LONGEST else shown[: _LONGEST - 3] + "..."


def refusal(error: ValidationError, data: dict[str, Any]) -> str:
    """Return the first error of a validation in our words: "key: what was read; what is wanted"."""
    errors = error.errors(include_url=False)
    # a misspelt key also shows as a missing one; the misspelling is the cause
    first = next((found for found in errors if found["type"] == "extra_forbidden"), errors[0])
    first["input"] = _as_written(first["loc"], data, first["input"])
    absent = [str(one["loc"][0]) for one in errors if one["type"] == "missing" and len(one["loc"]) == 1]
    if first["type"] == "missing" and len(absent) > _FEW:
        return (
            f'{absent[0]} and {len(absent) - 1} more are missing; wanted extends = "family_house" at the top'
        )
    path = _path(first["loc"], data)
    said = _words(first)
    return f"{path}: {said}" if path else said


def _as_written(loc: Sequence[int | str], data: Any, otherwise: Any) -> Any:
    """Return what the file says at a path; limits are checked on the number in SI, which nobody wrote."""
    here = data
    for step in loc:
        try:
            here = here[step]
        except (KeyError, IndexError, TypeError):
            return otherwise
    return here


def _words(found: ErrorDetails) -> str:
    kind, read = found["type"], short(found["input"])
    if kind == "extra_forbidden":
        return _unknown_key(found["loc"])
    if kind == "missing":
        return f"is missing; wanted {_wanted(found['loc'])}"
    if kind == "value_error":
        return _value_error(found)
    if kind in _LIMITS:
        word, key = _LIMITS[kind]
        return f"read {read}; wanted {word} {_limit(found['ctx'][key], found)}"
    second = next((_SECOND.get(str(key)) for key in found["loc"][-1:]), None)
    if kind == "model_type" and isinstance(found["input"], list) and second:
        return f"is a list; wanted one table, in [ ] and not in [[ ]]; {second}"
    shape = _SHAPES.get(kind)
    return f"read {read}; wanted {shape or _after_should(found['msg'])}"


def _unknown_key(loc: Sequence[int | str]) -> str:
    key, model = str(loc[-1]), _owner(loc[:-1])
    keys = [field.alias or name for name, field in model.model_fields.items()] if model else []
    return said_of(key) or f"is not a known key; {nearest(key, keys)}"


def _value_error(found: ErrorDetails) -> str:
    said = found["msg"].removeprefix("Value error, ")
    if isinstance(found["input"], dict):
        return said
    joint = "; " if said.startswith("wanted") else ", which "
    return f"read {short(found['input'])}{joint}{said}"


def _after_should(message: str) -> str:
    said = message.removeprefix("Input should be ").removeprefix("Input should ")
    return said[0].lower() + said[1:]


def _path(loc: Sequence[int | str], data: Any) -> str:
    path, here, last = "", data, ""
    for step in loc:
        if isinstance(step, int):
            here = here[step] if isinstance(here, list | tuple) and step < len(here) else None
            name = here.get(ENTRY_KEYS.get(last, "")) if isinstance(here, dict) else None
            path += f"[{_cut(name) if isinstance(name, str) else step + 1}]"
            continue
        here = here.get(step) if isinstance(here, dict) else None
        path += f".{_cut(step)}" if path else _cut(step)
        last = step
    return path


def _cut(name: str) -> str:
    return name if len(name) <= _LONGEST else name[: _LONGEST - 3] + "..."


def _field(model: type[BaseModel], key: str) -> FieldInfo | None:
    for name, field in model.model_fields.items():
        if key in (name, field.alias):
            return field
    return None


def _owner(loc: Sequence[int | str]) -> type[BaseModel] | None:
    """Return the model a path leads to, or None when it leads to a value."""
    model: type[BaseModel] | None = Scenario
    for step in loc:
        if model is None or isinstance(step, int):
            continue
        field = _field(model, step)
        kinds = () if field is None else (field.annotation, *get_args(field.annotation))
        model = next((k for k in kinds if isinstance(k, type) and issubclass(k, BaseModel)), None)
    return model


def _kind(loc: Sequence[int | str]) -> str | None:
    model = _owner(loc[:-1])
    field = _field(model, str(loc[-1])) if model and loc else None
    if field is None:
        return None
    inner = [m for arg in get_args(field.annotation) for m in getattr(arg, "__metadata__", ())]
    return next((m.name for m in (*field.metadata, *inner) if isinstance(m, Kind)), None)


def _limit(limit: float, found: ErrorDetails) -> str:
    """Return a limit in SI, and in the unit it was overstepped in."""
    kind = _kind(found["loc"])
    unit = units_of(kind)[0] if kind else ""
    if not kind or not unit:
        return f"{limit:g}"
    written = unit_written(str(found["input"]), kind)
    as_written = f", which is {from_si(limit, written, kind):g} {written}" if written != unit else ""
    return f"{limit:g} {unit}{as_written}"


def _wanted(loc: Sequence[int | str]) -> str:
    kind = _kind(loc)
    if kind:
        return f"a quantity such as {example(kind)}"
    return "a table" if _owner(loc) else "a value"
