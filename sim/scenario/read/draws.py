"""Metered draws from CSV."""

from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path
from typing import TypedDict

import numpy as np
import numpy.typing as npt

from sim.constants import MOST_YEARS, YEAR_S
from sim.scenario.nearest import nearest
from sim.scenario.read.refusal import short
from sim.scenario.read.sheet import Cell, Sheet, number, read_sheet, refused
from sim.units import to_si

_LONGEST_S = MOST_YEARS * YEAR_S  # what lies beyond are seconds of another clock, or milliseconds
_FLOW = {"flow_gpm": "gpm", "flow_l_min": "L/min"}
_PRESSURE = {"at_psi": "psi", "at_kpa": "kPa"}
_VOLUME = {"volume_gal": "gal", "volume_l": "L"}
_DURATION = {"duration_s": "s"}


class Draws(TypedDict):
    """Metered draws, one array element a row of the file; the keys are those of `read_draws`."""

    start_s: npt.NDArray[np.float64]
    use: npt.NDArray[np.int64]
    flow_m3_s: npt.NDArray[np.float64]
    reference_pa: float
    duration_s: npt.NDArray[np.float64]
    volume_m3: npt.NDArray[np.float64]


def read_draws(path: str | Path, start_date: date, use_names: Sequence[str], early: bool = False) -> Draws:
    """Read metered draws.

    `start_s` [s]; `use`, number of the use, -1 where not told; `flow_m3_s` [m3/s] at the one pressure
    `reference_pa` [Pa], both nan where the use tells them; `duration_s` [s], nan for a draw that ends at its
    volume; `volume_m3` [m3], nan for a draw that ends at its time. Refused in one line with file, line,
    column, what was read and what is wanted; also when a draw is before the run, unless early ones may be.

    Notes
    -----
    Flows metered at several pressures are restated at that of the first row by the law of a fixed orifice,
    q proportional to the square root of p, so that each keeps its coefficient.
    """
    sheet = read_sheet(Path(path))
    flow, pressure = _one_of(sheet, _FLOW), _one_of(sheet, _PRESSURE)
    if flow is None and "use" not in sheet.columns:
        raise _absent(sheet, ("use", *_FLOW))
    if flow is not None and pressure is None:
        raise _absent(sheet, tuple(_PRESSURE))
    duration, volume = _one_of(sheet, _DURATION), _one_of(sheet, _VOLUME)
    if duration is None and volume is None:
        raise _absent(sheet, (*_DURATION, *_VOLUME))
    duration_s = _column(sheet, duration, _DURATION, "time", volume is not None)
    volume_m3 = _column(sheet, volume, _VOLUME, "volume", duration is not None)
    _exactly_one(sheet, duration_s, volume_m3)
    metered_pa = _column(sheet, pressure if flow else None, _PRESSURE, "pressure", False)
    reference_pa = float(metered_pa[0])
    metered_m3_s = _column(sheet, flow, _FLOW, "flow", False)
    return {
        "start_s": np.array([_start_s(cell, start_date, early) for _, cell in sheet.cells("start")]),
        "use": _uses(sheet, use_names, needed=flow is None),
        "flow_m3_s": metered_m3_s * np.sqrt(reference_pa / metered_pa),
        "reference_pa": reference_pa,
        "duration_s": duration_s,
        "volume_m3": volume_m3,
    }


def _one_of(sheet: Sheet, columns: dict[str, str]) -> str | None:
    there = [column for column in columns if column in sheet.columns]
    if len(there) > 1:
        raise refused(f"{sheet.label}: line 1: columns {' and '.join(there)} both stand; wanted one of them")
    return there[0] if there else None


def _absent(sheet: Sheet, wanted: tuple[str, ...]) -> Exception:
    return refused(
        f"{sheet.label}: line 1: no column {' or '.join(wanted)}; "
        f"read {', '.join(short(c) for c in sheet.columns)}; wanted one of them"
    )


def _column(
    sheet: Sheet, column: str | None, units: dict[str, str], kind: str, blank: bool
) -> npt.NDArray[np.float64]:
    if column is None:
        return np.full(len(sheet.rows), np.nan)
    unit = units[column]
    return np.array(
        [
            np.nan
            if blank and not cell.text
            else to_si(number(cell, f"a number in {unit}", above_zero=True), unit, kind)
            for _, cell in sheet.cells(column)
        ]
    )


def _exactly_one(
    sheet: Sheet, duration_s: npt.NDArray[np.float64], volume_m3: npt.NDArray[np.float64]
) -> None:
    wrong = np.flatnonzero(np.isnan(duration_s) == np.isnan(volume_m3))
    if wrong.size:
        line = sheet.rows[int(wrong[0])][0]
        raise refused(f"{sheet.label}: line {line}: wanted a duration or a volume, and one of them only")


def _uses(sheet: Sheet, names: Sequence[str], needed: bool) -> npt.NDArray[np.int64]:
    if "use" not in sheet.columns:
        return np.full(len(sheet.rows), -1, dtype=np.int64)
    numbers = []
    for _, cell in sheet.cells("use"):
        if not cell.text and not needed:
            numbers.append(-1)
        elif cell.text in names:
            numbers.append(list(names).index(cell.text))
        else:
            raise refused(f"{cell.place}: read {short(cell.text)}; {nearest(cell.text, names)}")
    return np.array(numbers, dtype=np.int64)


def _start_s(cell: Cell, start_date: date, early: bool) -> float:
    wanted = "a date and time like 2021-01-31T07:30:00, or seconds from the start"
    read = f"{cell.place}: read {short(cell.text)}"
    if "-" not in cell.text.lstrip("-"):
        seconds = number(cell, wanted)
    else:
        try:
            start = datetime.fromisoformat(cell.text)
        except ValueError:
            raise refused(f"{read}; wanted {wanted}") from None
        if ":" not in cell.text:
            raise refused(f"{read}, which has no time of day; wanted {wanted}")
        if start.tzinfo is not None:
            raise refused(f"{read}; wanted local time without a zone")
        seconds = (start - datetime.combine(start_date, datetime.min.time())).total_seconds()
    if seconds < 0 and not early:
        raise refused(f"{read}; wanted a time from {start_date} on")
    if seconds >= _LONGEST_S:
        raise refused(f"{read}, {seconds / YEAR_S:.0f} years from the start, {start_date}; wanted {wanted}")
    return seconds
