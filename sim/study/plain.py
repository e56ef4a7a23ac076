"""Questions and answers as plain data: JSON, with tables and arrays beside it; nothing that runs when read.

What a value is comes from the types of its class, never from the data: a field that holds a `Policy` is read
as one and checked as one from a file is. Parts of a scenario are written as its file would state them.
"""

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date
from functools import cache
from types import NoneType, UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

import numpy as np
from pydantic import BaseModel

from sim.scenario.read.scenario_tables import tables_of

Parts = dict[str, Any]  # tables and arrays by the names they have in the JSON
_TABLE, _ARRAY = "$table", "$array"  # the one key of what stands in their place


def to_plain(value: Any, parts: Parts, name: str = "") -> Any:
    """Return a value as JSON has it; tables and arrays go to the parts, under their name if it is free."""
    if isinstance(value, np.generic):
        return value.item()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, np.ndarray) or hasattr(value, "to_parquet"):
        called = name if name.isidentifier() and name not in parts else f"part{len(parts)}"
        parts[called] = value
        return {_ARRAY if isinstance(value, np.ndarray) else _TABLE: called}
    if value is None or isinstance(value, str | bool | int | float):
        return value
    return _many_to_plain(value, parts)


def _many_to_plain(value: Any, parts: Parts) -> Any:
    if isinstance(value, BaseModel):
        return to_plain(tables_of(value, stated=True), parts)
    if is_dataclass(value):
        return {one.name: to_plain(getattr(value, one.name), parts, one.name) for one in fields(value)}
    if isinstance(value, list | tuple):
        return [to_plain(item, parts) for item in value]
    if isinstance(value, Mapping) and all(isinstance(key, str) for key in value):
        return {key: to_plain(item, parts, key) for key, item in value.items()}
    if isinstance(value, Mapping):
        return [[to_plain(key, parts), to_plain(item, parts)] for key, item in value.items()]
    raise TypeError(f"{type(value).__name__} is no plain data")


def from_plain(kind: Any, data: Any, parts: Parts) -> Any:
    """Return what was made plain, by its type.

    Raises
    ------
    Exception
        Of any kind when the data are not of this type.
    """
    if isinstance(data, dict) and len(data) == 1 and not data.keys().isdisjoint({_TABLE, _ARRAY}):
        return _part(data, parts)
    if get_origin(kind) in (Union, UnionType):
        wanted = [one for one in get_args(kind) if one is not NoneType]
        return data if data is None or len(wanted) > 1 else from_plain(wanted[0], data, parts)
    if isinstance(get_origin(kind), type):
        return _many_from_plain(get_origin(kind), get_args(kind), data, parts)
    return _one_from_plain(kind, data, parts) if isinstance(kind, type) else data


def _one_from_plain(kind: Any, data: Any, parts: Parts) -> Any:
    if issubclass(kind, date):
        return kind.fromisoformat(data)
    if issubclass(kind, BaseModel):
        return kind.model_validate(data)
    if hasattr(kind, "__dataclass_fields__"):
        hints = _hints(kind)
        return kind(**{name: from_plain(hints[name], item, parts) for name, item in data.items()})
    return data


def _many_from_plain(origin: Any, inner: tuple[Any, ...], data: Any, parts: Parts) -> Any:
    if issubclass(origin, Mapping):
        pairs = data.items() if isinstance(data, dict) else data
        return {from_plain(inner[0], key, parts): from_plain(inner[1], item, parts) for key, item in pairs}
    each = inner if origin is tuple and inner[1:] != (...,) else inner[:1] * len(data)
    return tuple(from_plain(one, item, parts) for one, item in zip(each, data, strict=True))


def _part(data: dict[str, str], parts: Parts) -> Any:
    """Return a table or an array; an array that was kept as a table is the one column, named for its type."""
    [(mark, name)] = data.items()
    found = parts[name]
    if mark == _TABLE or isinstance(found, np.ndarray):
        return found
    return found.iloc[:, 0].to_numpy().astype(found.columns[0])


@cache
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind)
