"""A scenario turned back into the tables it is read from: one value can be changed and all is checked."""

from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from sim.errors import InputError
from sim.scenario.read.refusal import one_line, refusal
from sim.scenario.scenario import Scenario
from sim.scenario.values.numbers import kind_of, written


def tables_of(part: BaseModel) -> dict[str, Any]:
    """Return the tables of a scenario, every quantity with its SI unit."""
    found: dict[str, Any] = {}
    for name, field in type(part).model_fields.items():
        value = getattr(part, name)
        if value is not None:
            found[field.alias or name] = _written(value, field)
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


def _written(value: Any, field: FieldInfo) -> Any:
    if isinstance(value, BaseModel):
        return tables_of(value)
    if isinstance(value, tuple):
        return [tables_of(item) if isinstance(item, BaseModel) else item for item in value]
    return written(value, kind_of(field))
