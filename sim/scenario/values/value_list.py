"""Every value of a scenario as a line of text, with the unit its field declares."""

from typing import Any

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from sim.scenario.values.numbers import kind_of
from sim.units import SHOWN, Units, from_si, span, text, units_of


def values(part: BaseModel, units: Units, path: str = "") -> list[tuple[str, str]]:
    """Return the keys of a scenario as they stand in its file, each with its value."""
    found: list[tuple[str, str]] = []
    for name, field in type(part).model_fields.items():
        key = f"{path}.{field.alias or name}".lstrip(".")
        found += _lines(getattr(part, name), field, key, units)
    return found


def _lines(value: Any, field: FieldInfo, key: str, units: Units) -> list[tuple[str, str]]:
    if isinstance(value, BaseModel):
        return values(value, units, key)
    if isinstance(value, tuple):
        found: list[tuple[str, str]] = []
        for number, item in enumerate(value, 1):
            name = getattr(item, "name", None) or getattr(item, "part", None) or number
            found += values(item, units, f"{key}[{name}]") if isinstance(item, BaseModel) else []
        return found
    return [] if value is None else [(key, _said(value, kind_of(field), units))]


def _said(value: Any, kind: str | None, units: Units) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if kind is None or not isinstance(value, float):
        return f"{value:g}" if isinstance(value, float) else str(value)
    if kind == "time":
        return f"{value / 86400:,.4g} d" if value >= 86400 else f"{value:,.4g} s"
    if kind == "length":
        return span(value, units)
    if kind in SHOWN[units] and abs(value) >= _least_shown(kind):
        return text(value, kind, units)
    smaller = _SMALLER.get(kind, {})
    unit = next((unit for unit, least in smaller.items() if abs(value) >= least), units_of(kind)[0])
    if kind in _FINER:
        unit = _FINER[kind][units]
    return f"{from_si(value, unit, kind):.4g} {unit}".strip()


_FINER = {  # which have no usual unit, or are below it, by the units asked for
    "pump curve": {"us": "ft/gpm2", "si": "m/(L/min)2"},
    "flow": {"us": "gal/d", "si": "L/d"},
}
# Units people write for what is too small for the usual one, each from the least value it is used for; in SI.
_SMALLER = {
    "mass": {"kg": 1.0, "g": 0.0},
    "volume": {"L": 0.0},
    "fraction": {"%": 0.0},
}


def _least_shown(kind: str) -> float:
    """Return the size below which the usual decimals would show nothing, such as of a small leak."""
    return {"volume": 0.01, "pressure": 1000.0, "flow": 1e-5, "area": 0.1}.get(kind, 0.0)
