"""Field types: a quantity is written with its unit and held in SI; kind and limits are metadata."""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from typing import Annotated, Any, get_args

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationInfo,
    field_validator,
)

from sim.errors import InputError
from sim.scenario.values.bounds import beyond
from sim.units import parse, units_of


@dataclass(frozen=True)
class Kind:
    """Kind of quantity of a field (a key of `sim.units.FACTORS`, or "temperature")."""

    name: str

    def __get_pydantic_json_schema__(self, core: Any, handler: Any) -> dict[str, Any]:
        """Return what JSON Schema calls it: text with a unit, or a bare number where one is read."""
        del core, handler
        units = "|".join(re.sub(r"([.^$*+?()\[\]{}|\\])", r"\\\1", unit) for unit in units_of(self.name))
        written = {
            "type": "string",
            "pattern": rf"^\s*[-+]?[0-9.][0-9.eE+-]*\s*({units})\s*$",
            "examples": [example(self.name).strip('"')],
        }
        bare = {"type": "number"} if self.name == "fraction" else {"const": 0}
        return written if self.name == "temperature" else {"anyOf": [written, bare]}


def quantity(kind: str) -> Any:
    """Return a float type that reads "number unit" of this kind and refuses a bare number.

    Parameters
    ----------
    kind : str
        A key of `sim.units.FACTORS`, or "temperature".
    """

    def read(value: object) -> float:
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            raise ValueError(f"wanted a quantity such as {example(kind)}")
        if not isinstance(value, str):
            if kind == "fraction" or (value == 0 and kind != "temperature"):
                plain = _plain(value)
                return _within(plain, kind) if math.isfinite(plain) else plain  # the field says finite
            raise ValueError(f"has no unit; wanted a quantity such as {example(kind)}")
        try:
            number = parse(value, kind)
        except InputError as error:
            raise ValueError(str(error)) from None
        return _within(number, kind)

    return Annotated[float, BeforeValidator(read), Field(allow_inf_nan=False), Kind(kind)]


@dataclass(frozen=True)
class Names:
    """Numbers of a field that have a name of their own, which may be written for them."""

    numbers: Mapping[str, float]

    def __get_pydantic_json_schema__(self, core: Any, handler: Any) -> dict[str, Any]:
        """Return what JSON Schema calls it."""
        del core, handler
        return {"anyOf": [{"type": "number"}, {"enum": list(self.numbers)}]}


def named(numbers: Mapping[str, float]) -> Any:
    """Return a float type that reads a plain number, or a name that stands for one."""

    def read(value: object) -> object:
        if isinstance(value, str) and (value in numbers or _DECIMAL.fullmatch(value)):
            return numbers[value] if value in numbers else float(value)
        if isinstance(value, str | bool):
            raise ValueError(f"wanted a number or {', '.join(map(repr, numbers))}")
        return value

    return Annotated[float, BeforeValidator(read), Names(numbers)]


def _within(number: float, kind: str) -> float:
    if not math.isfinite(number):
        raise ValueError("is not a finite number")
    wanted = beyond(number, kind)
    if wanted:
        unit = units_of(kind)[0]
        raise ValueError(f"wanted {wanted}{' ' + unit if unit else ''}")
    return number


def _plain(value: int | float) -> float:
    try:
        return float(value)
    except OverflowError:
        raise ValueError("is not a finite number") from None


def example(kind: str) -> str:
    """Return an example of a quantity, for messages.

    Returns
    -------
    str
        For instance '"40 psi"'.
    """
    examples = {
        "pressure": "40 psi",
        "flow": "6 gpm",
        "volume": "20 gal",
        "length": "12 ft",
        "area": "180 m2",
        "time": "6 month",
        "fraction": "60 %",
        "dose": "40 mJ/cm2",
        "temperature": "12 C",
        "mass": "110 g",
        "concentration": "5 mg/L",
        "absorbance": "0.03 1/cm",
    }
    from_table = {"linear resistance": "0.05 psi/gpm", "quadratic resistance": "0.01 psi/gpm2"}
    return f'"{(examples | from_table).get(kind, "1 " + kind)}"'


Pressure = quantity("pressure")
PressureRate = quantity("pressure rate")
Flow = quantity("flow")
Volume = quantity("volume")
Length = quantity("length")
Area = quantity("area")
Time = quantity("time")
Mass = quantity("mass")
Concentration = quantity("concentration")
ArealLoad = quantity("areal load")
Dose = quantity("dose")
Absorbance = quantity("absorbance")
SpecificAbsorbance = quantity("specific absorbance")
Fraction = quantity("fraction")
Rate = quantity("rate")
PerLength = quantity("per length")
PerVolume = quantity("per volume")
Density = quantity("density")
Power = quantity("power")
Temperature = quantity("temperature")
LinearResistance = quantity("linear resistance")
QuadraticResistance = quantity("quadratic resistance")
PumpCurve = quantity("pump curve")
# Blocking laws of Hermia 1982 by their exponent n.
Law = named({"complete": 2.0, "standard": 1.5, "intermediate": 1.0, "cake": 0.0})


_PLAIN = (bool, int, float, str, date)
_DECIMAL = re.compile(r"\d+(\.\d+)?", re.ASCII)
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)


def as_meant(value: Any, wanted: tuple[Any, ...]) -> Any:
    """Return a value of one of some plain types as it is; words lose their control characters.

    Raises
    ------
    ValueError
        When it would have to be taken for something it is not, such as true for 1 or "4" for 4.

    Examples
    --------
    >>> as_meant(4, (float,)), as_meant("a\x1b[2J", (str,))
    (4, 'a [2J')
    """
    if str in wanted:
        if not isinstance(value, str) or value.isprintable():  # nearly all are
            return value
        return "".join(c if c.isprintable() or c == "\n" else " " for c in value)
    if bool in wanted:
        right, said = isinstance(value, bool), "true or false"
    elif date in wanted:
        written = isinstance(value, str) and _DATE.fullmatch(value) is not None
        right, said = (
            written or (isinstance(value, date) and not isinstance(value, datetime)),
            "a date such as 2027-01-31",
        )
    else:
        right, said = isinstance(value, int | float) and not isinstance(value, bool), "a number"
    if not right:
        raise ValueError(f"wanted {said}")
    return value


def _printable(value: str) -> str:
    if not value.isprintable():
        raise ValueError("wanted text on one line, without control characters")
    return value


Label = Annotated[str, Field(min_length=1, max_length=80), AfterValidator(_printable)]  # what people read


class Part(BaseModel):
    """A frozen piece of a scenario; keys in the file are the field names without their unit suffix."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True, allow_inf_nan=False)

    @field_validator("*", mode="before")
    @classmethod
    def _as_meant(cls, value: Any, about: ValidationInfo) -> Any:
        """Refuse what only looks like a number, a truth or a date; take control characters out of words."""
        wanted = _plain_types(cls).get(str(about.field_name), ())
        if value is None or not wanted:
            return value
        return as_meant(value, wanted)


@cache
def _plain_types(part: type[BaseModel]) -> dict[str, tuple[Any, ...]]:
    """Return the plain types of the fields that have no reader of their own, by name; None is left out."""
    found = {}
    for name, field in part.model_fields.items():
        kinds = tuple(kind for kind in (field.annotation, *get_args(field.annotation)) if kind in _PLAIN)
        if not any(isinstance(mark, BeforeValidator | AfterValidator) for mark in field.metadata):
            found[name] = kinds
    return found


def positive(alias: str, **more: Any) -> Any:
    """Field that must be above zero, under its key in the file."""
    return Field(alias=alias, gt=0, **more)


def not_negative(alias: str, **more: Any) -> Any:
    """Field that must not be below zero, under its key in the file."""
    return Field(alias=alias, ge=0, **more)
