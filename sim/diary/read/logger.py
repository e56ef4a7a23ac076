"""A logger's export reduced to a few readings a day: thousands of rows are not thousands of facts."""

import csv
import io
from collections.abc import Mapping
from datetime import date
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
STEADY = 0.1  # a draw is steady where the flow is within a tenth of that of the row before [A]
MOST_BYTES = 256 * 1024**2  # a year by the second is 1.5 GB, by ten seconds 150 MB
LEAST_ROWS = 3  # of steady draws before their median stands for a day
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
    day = table[logger.time_column].dt.date
    return _reduced(path.name, day, numbers, logger)


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
    wanted = [logger.time_column, *dict.fromkeys(one.column for one in logger.columns)]
    header = check_shape(path.name, numbered_rows(text, path.name, logger.separator))
    try:
        names = {name.strip(): name for name in header}
        missing = next((name for name in wanted if name not in names), None)
        if missing is not None:
            raise refused(
                f"{path.name}: line 1: no column {short(missing)}; known are {', '.join(names)[:80]}"
            )
        table = pd.read_csv(
            io.StringIO(text),
            sep=logger.separator,
            usecols=[names[name] for name in wanted],
            index_col=False,
            dtype=str,
            engine="c",
        )
    except ValueError as error:
        raise refused(f"{path.name}: cannot be read: {error}") from None
    table.columns = [str(name).strip() for name in table.columns]
    times = pd.to_datetime(table[logger.time_column], format=logger.time_format or "ISO8601", errors="coerce")
    wrong = np.flatnonzero(times.isna().to_numpy())
    if wrong.size:
        text = short(table[logger.time_column].iloc[wrong[0]])
        pattern = logger.time_format or "2027-05-14T07:30:00"
        raise refused(f"{path.name}: line {wrong[0] + 2}: read {text}; wanted a time like {pattern}")
    table[logger.time_column] = times.dt.tz_localize(None) if times.dt.tz is not None else times
    return table.sort_values(logger.time_column, kind="stable")


def _numbers(path: Path, column: "pd.Series[str]", name: str, factor: float) -> "pd.Series[float]":
    """Return a column as numbers in SI; an empty cell is nothing read."""
    plain = column.str.strip()
    if factor == 0.0:
        found = plain.str.casefold().map(SWITCH_WORDS)
    else:
        found = pd.to_numeric(plain, errors="coerce").replace([np.inf, -np.inf], np.nan) * factor
    wrong = np.flatnonzero((found.isna() & plain.notna() & (plain != "")).to_numpy())
    if wrong.size:
        line, text = column.index[wrong[0]] + 2, short(plain.iloc[wrong[0]])
        raise refused(f"{path.name}: line {line}: read {text} for {name}; wanted a number")
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
    return f"{label}: {on}: {name}", {**cells, "procedure": procedure, "note": "from a logger"}
