"""A logger's export reduced to a few readings a day: thousands of rows are not thousands of facts."""

import csv
import io
from collections.abc import Iterator, Mapping
from datetime import UTC, date
from pathlib import Path

import numpy as np
import pandas as pd

from sim.diary.book import Cells
from sim.diary.properties import SWITCH_WORDS, property_of
from sim.errors import InputError
from sim.scenario.logger import Logger
from sim.scenario.read.content import content_of, text_of
from sim.scenario.read.refusal import short
from sim.scenario.read.sheet import check_shape, numbered_rows, refused
from sim.scenario.scenario import Scenario
from sim.units import FACTORS

FLOW, PRESSURE = "flow", "pressure"
NOTE = "from a logger"
IN_UTC = f"{NOTE}, days as of UTC"
STEADY = 0.1  # a draw is steady where the flow is within a tenth of that of the row before [A]
MOST_BYTES = 256 * 1024**2  # a year by the second is 1.5 GB, by ten seconds 150 MB
LEAST_ROWS = 3  # of steady draws before their median stands for a day
_NOTHING = frozenset({"na", "n/a", "nan", "null", "none"})
_OFFSET = r"(:\d\d(?:[.,]\d+)?)\s*(?:Z|[+-]\d\d(?::?\d\d)?)$"  # of a clock from UTC, behind a time of day
# Units in which the last value of a day is written down, and what makes them of SI.
_SHOWN = {
    "UV": ("%", 100.0),
    "meter": ("m3", 1.0),
    "cistern level": ("m", 1.0),
    "cistern share": ("%", 100.0),
    "lamp hours": ("h", 1.0 / 3600.0),
    "precharge": ("Pa", 1.0),
    "pressure at rest": ("Pa", 1.0),
}


def text_of_export(path: Path) -> str:
    """Return the text of a file that may be a logger's export."""
    return text_of(content_of(path, str(path), "a CSV file", MOST_BYTES), str(path))


def is_export(text: str, logger: Logger) -> bool:
    """Return whether a text begins like the export of the site's logger."""
    header = next(csv.reader(io.StringIO(text, newline=""), delimiter=logger.separator), [])
    return logger.time_column in [name.strip() for name in header]


def rows_of(path: Path, text: str, scenario: Scenario, logger: Logger) -> list[tuple[str, Cells]]:
    """Return the readings of a logger's export, reduced to days.

    Returns
    -------
    list of tuple
        Place and cells, as from a table of readings.

    Raises
    ------
    InputError
        One line: file, column, what was read, what is wanted.

    Notes
    -----
    Drops: median over the rows of steady draws, with their median flow. Pressure: the day's least as cut-in,
    its most as cut-out. UV, meter, level and lamp hours: the last of the day. Alarm: on when any row
    has it on.
    """
    kinds = {}
    for one in logger.columns:
        if one.observed_property not in (FLOW, PRESSURE):
            property_of(one.observed_property, scenario)
        kinds[one.observed_property] = one
    table = _table(path, text, logger)
    numbers = {
        name: _numbers(path, table[one.column], name, _factor(one.unit, name, scenario))
        for name, one in kinds.items()
    }
    times = table[logger.time_column]
    note = IN_UTC if times.dt.tz is UTC else NOTE
    return [
        (place, {**cells, "note": note})
        for place, cells in _reduced(path.name, times.dt.date, numbers, logger)
    ]


def _factor(unit: str, name: str, scenario: Scenario) -> float:
    """Return what a number of a column is worth in SI; 0 for one that is on or off."""
    kind = {FLOW: "flow", PRESSURE: "pressure"}.get(name) or property_of(name, scenario)[0].kind
    if kind not in FACTORS:
        return 0.0
    if unit not in FACTORS[kind]:
        raise InputError(
            f"logger.column: read unit {short(unit)} for {name}; wanted one of {', '.join(FACTORS[kind])}"
        )
    return FACTORS[kind][unit]


def _table(path: Path, text: str, logger: Logger) -> pd.DataFrame:
    """Return the columns that are read, as text, in order of time; the index is the line in the file."""
    wanted = [logger.time_column, *dict.fromkeys(one.column for one in logger.columns)]
    lines: list[int] = []
    cells: list[list[str]] = []

    def walked() -> Iterator[tuple[int, tuple[str, ...]]]:
        """Keep the cells that are read while the shape of all of them is looked at: files may be large."""
        rows = numbered_rows(text, path.name, logger.separator)
        first = next(rows)
        yield first
        at = _places(path, [name.strip() for name in first[1]], wanted)
        for line, row in rows:
            yield line, row
            lines.append(line)
            cells.append([row[k].strip() if k < len(row) else "" for k in at])

    check_shape(path.name, walked())
    table = pd.DataFrame(cells, index=lines, columns=wanted, dtype=str)
    table[logger.time_column] = _times(path, table[logger.time_column], logger.time_format)
    return table.sort_values(logger.time_column, kind="stable")


def _places(path: Path, names: list[str], wanted: list[str]) -> list[int]:
    """Return where the columns that are read stand."""
    missing = next((name for name in wanted if name not in names), None)
    if missing is not None:
        raise refused(f"{path.name}: line 1: no column {short(missing)}; known are {', '.join(names)[:80]}")
    return [names.index(name) for name in wanted]


def _times(path: Path, column: "pd.Series[str]", pattern: str | None) -> "pd.Series[pd.Timestamp]":
    """Return the times by the logger's own clock, with its zone where it has one throughout.

    On both sides of the end of summer time the offsets differ; they are left out then.
    """
    form = pattern or "ISO8601"
    try:
        times = pd.to_datetime(column, format=form, errors="coerce")
    except ValueError:  # offsets that differ, as on both sides of the end of summer time
        if pattern:
            raise refused(
                f"{path.name}: times have more than one zone; wanted local time throughout"
            ) from None
        plain = column.str.replace(_OFFSET, r"\1", regex=True)
        times = pd.to_datetime(plain, format=form, errors="coerce")
    wrong = times.index[times.isna()]
    if wrong.size:
        like = pattern or "2027-05-14T07:30:00"
        raise refused(
            f"{path.name}: line {wrong[0]}: read {short(column[wrong[0]])}; wanted a time like {like}"
        )
    return times


def _numbers(path: Path, column: "pd.Series[str]", name: str, factor: float) -> "pd.Series[float]":
    """Return a column as numbers in SI; an empty cell, or one that says so, is nothing read."""
    plain = column.where(~column.str.casefold().isin(_NOTHING), "")
    if factor == 0.0:
        found = plain.str.casefold().map(SWITCH_WORDS)
    else:
        found = pd.to_numeric(plain, errors="coerce").replace([np.inf, -np.inf], np.nan) * factor
    wrong = column.index[found.isna() & (plain != "")]
    if wrong.size:
        text = short(column[wrong[0]])
        raise refused(f"{path.name}: line {wrong[0]}: read {text} for {name}; wanted a number")
    return found


def _reduced(
    label: str, day: "pd.Series[date]", numbers: Mapping[str, "pd.Series[float]"], logger: Logger
) -> list[tuple[str, Cells]]:
    found: list[tuple[str, Cells]] = []
    flow = numbers.get(FLOW)
    for name, values in numbers.items():
        if name == FLOW:
            continue
        if name.startswith("drop over"):
            if flow is None:
                raise InputError(
                    f"logger.column: {name} is logged and no flow; a drop says nothing without it"
                )
            found += _drops(label, name, day, values, flow, logger)
        elif name == PRESSURE:
            for words, of_day in (
                ("cut-in", values.groupby(day).min()),
                ("cut-out", values.groupby(day).max()),
            ):
                found += [
                    _row(label, on, f"pressure at {words}", value, "Pa")
                    for on, value in of_day.dropna().items()
                ]
        elif name == "UV alarm":
            found += [
                _row(label, on, name, float(value), "")
                for on, value in values.groupby(day).max().dropna().items()
            ]
        else:
            unit, scale = _SHOWN.get(name, ("", 1.0))
            last = values.dropna().groupby(day).last()
            found += [_row(label, on, name, scale * value, unit) for on, value in last.items()]
    return found


def _drops(
    label: str,
    name: str,
    day: "pd.Series[date]",
    drop: "pd.Series[float]",
    flow: "pd.Series[float]",
    logger: Logger,
) -> list[tuple[str, Cells]]:
    before = flow.shift(1)
    steady = flow.between(logger.steady_from_m3_s, logger.steady_to_m3_s) & (
        (flow - before).abs() <= STEADY * flow
    )
    kept = pd.DataFrame({"day": day, "drop": drop, "flow": flow})[steady & drop.notna()]
    days = kept.groupby("day").agg(drop=("drop", "median"), flow=("flow", "median"), rows=("drop", "size"))
    return [
        _row(label, on, name, row["drop"], "Pa", f"at {row['flow']:.4g} m3/s")
        for on, row in days[days["rows"] >= LEAST_ROWS].iterrows()
    ]


def _row(
    label: str, on: object, name: str, value: float, unit: str, procedure: str = ""
) -> tuple[str, Cells]:
    text = ("on" if value > 0.5 else "off") if name == "UV alarm" else f"{value:.6g}"
    cells = {"phenomenon_time": f"{on}T23:00:00", "observed_property": name, "result": text, "unit": unit}
    return f"{label}: {on}: {name}", {**cells, "procedure": procedure}
