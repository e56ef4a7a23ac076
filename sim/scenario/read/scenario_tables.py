"""A scenario turned back into the tables it is read from: one value can be changed and all is checked."""

from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from sim.errors import InputError
from sim.scenario.read.refusal import one_line, refusal
from sim.scenario.scenario import Scenario
from sim.scenario.values.numbers import kind_of, written


def tables_of(part: BaseModel, stated: bool = False) -> dict[str, Any]:
    """Return the tables of a scenario, every quantity with its SI unit; perhaps only what its file states."""
    found: dict[str, Any] = {}
    for name, field in type(part).model_fields.items():
        value = getattr(part, name)
        if value is not None and (name in part.model_fields_set or not stated or _holds_more(value)):
            found[field.alias or name] = _written(value, field, stated)
    return found


def scenario_of(tables: dict[str, Any], label: str) -> Scenario:
    """Return the scenario of tables, checked as one from a file is.

    Raises
    ------
    InputError
        One line: label, key, what was read, what is wanted.
    """
    try:
        return Scenario.model_validate(tables)
    except ValidationError as error:
        raise InputError(one_line(f"{label}: {refusal(error, tables)}")) from None


def _holds_more(value: Any) -> bool:
    return isinstance(value, BaseModel | tuple | dict)


def _written(value: Any, field: FieldInfo, stated: bool) -> Any:
    if isinstance(value, BaseModel):
        return tables_of(value, stated)
    if isinstance(value, tuple):
        return [tables_of(item, stated) if isinstance(item, BaseModel) else item for item in value]
    return written(value, kind_of(field))
