"""Observations as an open sensor service answers them: the JSON of OGC SensorThings 1.1."""

import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from sim.diary.book import Cells
from sim.scenario.read.content import content_of, text_of
from sim.scenario.read.refusal import short
from sim.scenario.read.sheet import refused

# Symbols and names of units by UCUM, which such services use, in the words of a diary.
UNITS = {
    "[psi]": "psi",
    "[gal_us]": "gal",
    "mm": "mm",
    "l": "L",
    "%": "%",
    "1": "",
    "[degF]": "F",
    "Cel": "C",
}


def rows_of(path: Path, named: str = "", unit: str = "") -> list[tuple[str, Cells]]:
    """Read observations from the JSON of a service.

    Parameters
    ----------
    named, unit : str
        What is observed, and its unit, where the answer itself does not say so.

    Returns
    -------
    list of tuple
        Place and cells, as from a table of readings.

    Raises
    ------
    InputError
        One line: file, place, what was read, what is wanted.

    References
    ----------
    OGC 18-088, SensorThings API part 1: Sensing 1.1 (2021): Observation, Datastream, data arrays.
    """
    return list(_rows(path.name, _content(path), named, unit))


def _content(path: Path) -> Any:
    try:
        return json.loads(text_of(content_of(path, str(path), "the JSON of a sensor service"), str(path)))
    except (ValueError, RecursionError) as error:
        raise refused(f"{path.name}: is not JSON: {error}") from None


def _rows(label: str, content: Any, named: str, unit: str) -> Iterator[tuple[str, Cells]]:
    found = content.get("value") if isinstance(content, Mapping) else content
    if not isinstance(found, list):
        raise refused(f'{label}: wanted a list under "value", as a sensor service answers it')
    for number, item in enumerate(found, 1):
        place = f"{label}: value {number}"
        if not isinstance(item, Mapping):
            raise refused(f"{place}: read {short(item)}; wanted an observation")
        inner = item.get("Datastream")
        stream: Mapping[str, Any] = inner if isinstance(inner, Mapping) else item
        name, its_unit = _named(stream) or named, _unit(stream) or unit
        if not name:
            raise refused(
                f"{place}: does not say what is observed; wanted an ObservedProperty, or --observed"
            )
        for when, result in _pairs(place, item):
            yield (
                place,
                {
                    "phenomenon_time": str(when),
                    "observed_property": name,
                    "result": _text(result),
                    "unit": its_unit,
                },
            )


def _pairs(place: str, item: Mapping[str, Any]) -> Iterator[tuple[Any, Any]]:
    """Walk through times and results, of one observation or of a data array."""
    if "dataArray" not in item:
        if "phenomenonTime" not in item or "result" not in item:
            raise refused(f"{place}: wanted phenomenonTime and result")
        yield item["phenomenonTime"], item["result"]
        return
    names, rows = item.get("components"), item["dataArray"]
    if (
        not isinstance(names, list)
        or not isinstance(rows, list)
        or not {"phenomenonTime", "result"} <= set(names)
    ):
        raise refused(f"{place}: wanted components with phenomenonTime and result, and rows of them")
    when, what = names.index("phenomenonTime"), names.index("result")
    for row in rows:
        if not isinstance(row, list) or len(row) <= max(when, what):
            raise refused(f"{place}: read {short(row)} in dataArray; wanted {len(names)} values")
        yield row[when], row[what]


def _named(stream: Mapping[str, Any]) -> str:
    observed = stream.get("ObservedProperty")
    return str(observed.get("name", "")) if isinstance(observed, Mapping) else ""


def _unit(stream: Mapping[str, Any]) -> str:
    unit = stream.get("unitOfMeasurement")
    symbol = str(unit.get("symbol") or "") if isinstance(unit, Mapping) else ""
    return UNITS.get(symbol, symbol)


def _text(result: Any) -> str:
    if isinstance(result, bool):
        return "on" if result else "off"
    return str(result)
