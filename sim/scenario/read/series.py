"""Recorded daily rain from CSV."""

import math
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
_OR_LEAVE_OUT = ', or missing = "" under [rain] of the site, which leaves years with missing days out'
_PLAIN_DATE = re.compile(r"(\d{4})([-/])(\d{1,2})\2(\d{1,2})", re.ASCII)


@dataclass(frozen=True, eq=False)
class RainRecord:
    """A daily rain record: every day is there of each year it holds."""

    dates: npt.NDArray[np.datetime64]  # days, datetime64[D], in order; first and last year may be part
    depth_m: npt.NDArray[np.float64]  # depth of each day [m], float64
    digest: str  # SHA-256 of the file
    left_out: tuple[int, ...] = ()  # years of which a day was missing, where the site leaves them out


def read_rain(path: str | Path, source: RainSource) -> RainRecord:
    """Read a daily rain record; with `rain.missing`, without the years of which a day is missing.

    Refused in one line with file, line, column, what was read and what is wanted: a missing column, a bad
    date, a missing, repeated or misplaced day, a blank, negative or absurd depth, text in place of a number.
    """
    sheet = read_sheet(Path(path))
    for key in ("date_column", "depth_column"):
        sheet.require(getattr(source, key), f"; name yours as {key} under [rain] of the site")
    days = np.array(_days(sheet, source), dtype="datetime64[D]")
    depth_m = np.array([_depth_m(cell, source) for _, cell in sheet.cells(source.depth_column)])
    left_out = _years_with_gaps(days, depth_m)
    kept = ~np.isin(_year(days), left_out)
    if not kept.any():
        years = f"{left_out[0]} to {left_out[-1]}"
        raise refused(f"{sheet.label}: each year, {years}, lacks days; wanted one with all its days")
    return RainRecord(days[kept], depth_m[kept], sheet.sha256, tuple(left_out))


def _year(days: npt.NDArray[np.datetime64]) -> npt.NDArray[np.int64]:
    return days.astype("datetime64[Y]").astype(np.int64) + 1970


def _years_with_gaps(days: npt.NDArray[np.datetime64], depth_m: npt.NDArray[np.float64]) -> list[int]:
    """Return the calendar years of which a day between the first and the last is not known."""
    known = days[~np.isnan(depth_m)]
    between = np.arange(days[0], days[-1] + 1)
    return sorted(set(_year(between[~np.isin(between, known)]).tolist()))


def _depth_m(cell: Cell, source: RainSource) -> float:
    """Return a depth, nan for a day that is marked as missing."""
    unit, factor = source.depth_unit, FACTORS["length"][source.depth_unit]
    if source.missing is not None and cell.text in ("", source.missing):
        return math.nan
    if not cell.text:
        raise refused(f"{cell.place}: is blank; wanted a depth in {unit}{_OR_LEAVE_OUT}")
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
        if days and source.missing is None and day != days[-1] + timedelta(days=1):
            missing = f"{days[-1] + timedelta(days=1)} is missing"
            raise refused(
                f"{cell.place}: read {day} after {days[-1]}; {missing}; wanted every day{_OR_LEAVE_OUT}"
            )
        lines[day] = line
        days.append(day)
    return days


def _day(cell: Cell, date_format: str | None) -> date:
    if not cell.text:
        raise refused(f"{cell.place}: is blank; wanted a date")
    plain = "a date like 2021-01-31 or 2021/01/31, or date_format under [rain] of the site"
    wanted = f"a date like {date_format}" if date_format else plain
    try:
        if date_format is not None:
            return datetime.strptime(cell.text, date_format).date()
        match = _PLAIN_DATE.fullmatch(cell.text)
        if match:
            return date(int(match[1]), int(match[3]), int(match[4]))
    except (ValueError, re.error):
        pass
    raise refused(f"{cell.place}: read {short(cell.text)}; wanted {wanted}")
