"""Recorded daily rain from CSV."""

import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

import numpy as np
import numpy.typing as npt

from sim.scenario.catchment import RainSource
from sim.scenario.read.refusal import short
from sim.scenario.read.sheet import Cell, Sheet, number, read_sheet, refused
from sim.units import FACTORS

_HIGHEST_DAY_M = 2.0  # wettest day on record: 1.825 m, La Reunion, January 1966 (WMO archive; from memory)
_PLAIN_DATE = re.compile(r"(\d{4})([-/])(\d{1,2})\2(\d{1,2})", re.ASCII)


@dataclass(frozen=True, eq=False)
class RainRecord:
    """A daily rain record without gaps."""

    dates: npt.NDArray[np.datetime64]  # days, datetime64[D], one after the other
    depth_m: npt.NDArray[np.float64]  # depth of each day [m], float64
    digest: str  # SHA-256 of the file


def read_rain(path: str | Path, source: RainSource) -> RainRecord:
    """Read a daily rain record.

    Refused in one line with file, line, column, what was read and what is wanted: a missing column, a bad
    date, a missing, repeated or misplaced day, a blank, negative or absurd depth, text in place of a number.
    """
    sheet = read_sheet(Path(path))
    sheet.require(source.depth_column)
    days = _days(sheet, source)
    factor = FACTORS["length"][source.depth_unit]
    depth_m = [_depth_m(cell, factor, source.depth_unit) for _, cell in sheet.cells(source.depth_column)]
    return RainRecord(np.array(days, dtype="datetime64[D]"), np.array(depth_m), sheet.sha256)


def _depth_m(cell: Cell, factor: float, unit: str) -> float:
    depth_m = number(cell, f"a depth in {unit}") * factor
    if depth_m > _HIGHEST_DAY_M:
        raise refused(
            f"{cell.place}: read {short(cell.text)}; wanted a depth in {unit} of at most "
            f"{_HIGHEST_DAY_M / factor:g} a day (is rain.depth_unit right?)"
        )
    return depth_m


def _days(sheet: Sheet, source: RainSource) -> list[date]:
    days: list[date] = []
    lines: dict[date, int] = {}
    for line, cell in sheet.cells(source.date_column):
        day = _day(cell, source.date_format)
        if day in lines:
            raise refused(f"{cell.place}: {day} stands already on line {lines[day]}; wanted each day once")
        if days and day < days[-1]:
            raise refused(f"{cell.place}: {day} comes after {days[-1]}; wanted days in order")
        if days and day != days[-1] + timedelta(days=1):
            missing = days[-1] + timedelta(days=1)
            raise refused(
                f"{cell.place}: read {day} after {days[-1]}; {missing} is missing; wanted every day"
            )
        lines[day] = line
        days.append(day)
    return days


def _day(cell: Cell, date_format: str | None) -> date:
    if not cell.text:
        raise refused(f"{cell.place}: is blank; wanted a date")
    wanted = f"a date like {date_format}" if date_format else "a date like 2021-01-31 or 2021/01/31"
    try:
        if date_format is not None:
            return datetime.strptime(cell.text, date_format).date()
        match = _PLAIN_DATE.fullmatch(cell.text)
        if match:
            return date(int(match[1]), int(match[3]), int(match[4]))
    except (ValueError, re.error):
        pass
    raise refused(f"{cell.place}: read {short(cell.text)}; wanted {wanted}")
