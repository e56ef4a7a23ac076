"""Readings and acts of a house as they count, whoever wrote them down and in what order."""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from sim.constants import DAY_S
from sim.diary.properties import (
    DROP,
    FINDING,
    FINDING_WORDS,
    SWITCH,
    SWITCH_WORDS,
    Property,
    property_of,
)
from sim.errors import InputError
from sim.scenario.nearest import nearest
from sim.scenario.read.refusal import one_line, short
from sim.scenario.scenario import Scenario
from sim.units import FACTORS, kind_of_unit, units_of

READ_AT, DONE_AT = time(9), time(12)  # where only a day is written: people read, then work
_NUMBER = re.compile(r"[+-]?(\d+)?([.,](\d*))?([eE][+-]?\d+)?", re.ASCII)
_THOUSANDS = re.compile(r"[+-]?\d{1,3},\d{3}", re.ASCII)
_FLOW = re.compile(r"(?:at )?([\d.]+) *([A-Za-z0-9/]+)", re.ASCII)
ONE_GAUGE, TWO_GAUGES = "one gauge", "two gauges"
EARLIEST = date(1950, 1, 1)


@dataclass(frozen=True, order=True)
class Reading:
    """One thing read.

    Attributes
    ----------
    at : datetime
        Local time of the house; 9:00 where only a day was written.
    observed : str
        What was read, in the words of `sim.diary.properties`.
    value, step : float
        Value and the last digit it was read to, in SI.
    flow_m3_s : float
        Flow at which a drop was read, where it was measured; else 0.
    gauges : int
        2 where a drop is the difference of two gauges.
    sure : bool
        Whether whoever read it stands by it although it looks odd.
    """

    at: datetime
    observed: str
    value: float
    step: float = 0.0
    flow_m3_s: float = 0.0
    gauges: int = 1
    sure: bool = False

    @property
    def stage(self) -> str:
        """The stage over which a drop was read; empty for all else."""
        return self.observed.removeprefix(f"{DROP} ") if self.observed.startswith(f"{DROP} ") else ""


@dataclass(frozen=True, order=True)
class Act:
    """One task done; at 12:00 where only a day was written."""

    at: datetime
    task: str
    stage: str = ""
    who: str = ""

    @property
    def label(self) -> str:
        """What it is called, as in a policy."""
        return f"{self.task}: {self.stage}" if self.stage else self.task


def days_since(begin: date, at: datetime) -> float:
    """Return the time from a midnight to a moment [d]."""
    return (at - datetime.combine(begin, time())).total_seconds() / DAY_S


def reading_of(written: Mapping[str, str], scenario: Scenario, today: date) -> Reading:
    """Return a reading from its cells as written.

    Parameters
    ----------
    written : mapping of str to str
        `phenomenon_time`, `observed_property`, `result`, and perhaps `unit`, `procedure`, `result_quality`.

    Raises
    ------
    InputError
        What was read and what is wanted, without the place.
    """
    observed, label = property_of(written.get("observed_property", ""), scenario)
    at = moment(written.get("phenomenon_time", ""), READ_AT, today)
    value, step = _value(written.get("result", ""), written.get("unit", "").strip(), observed)
    if not observed.least <= value <= observed.most:
        raise InputError(
            f"result: read {short(written['result'])} {written.get('unit', '')}".rstrip()
            + f" for {label}; wanted {_bounds(observed)}"
        )
    procedure = written.get("procedure", "").strip()
    sure = written.get("result_quality", "").strip().casefold() == "sure"
    return Reading(
        at, label, value, step, _flow(procedure), 2 if TWO_GAUGES in procedure.casefold() else 1, sure
    )


def act_of(written: Mapping[str, str], scenario: Scenario, today: date) -> Act:
    """Return an act from its cells as written: `date`, `task`, and perhaps `stage` and `who`.

    Raises
    ------
    InputError
        What was read and what is wanted, without the place.
    """
    task, _, after = written.get("task", "").strip().partition(":")
    stage = written.get("stage", "").strip() or after.strip()
    known = {one.name: one for one in scenario.tasks}
    if task.strip() not in known:
        raise InputError(f"task: no task {short(task.strip())}; {nearest(task.strip(), known)}")
    stages = [one.name for one in scenario.stages]
    if known[task.strip()].on_stage:
        if stage not in stages:
            raise InputError(f"stage: no stage {short(stage)}; {nearest(stage, stages)}")
    elif stage:
        raise InputError(f"stage: read {short(stage)}; wanted none with {task.strip()!r}")
    return Act(
        moment(written.get("date", ""), DONE_AT, today), task.strip(), stage, written.get("who", "").strip()
    )


def moment(text: str, otherwise: time, today: date) -> datetime:
    """Return a moment from ISO 8601 text: a day, a day with a time, or the end of an interval.

    Raises
    ------
    InputError
        When it is none, or lies ahead.

    Notes
    -----
    A zone is dropped: the clock of the house is meant.

    Examples
    --------
    >>> moment("2027-05-14T07:30:00Z", READ_AT, date(2027, 6, 1))
    datetime.datetime(2027, 5, 14, 7, 30)
    >>> moment("2027-05-14", READ_AT, date(2027, 6, 1))
    datetime.datetime(2027, 5, 14, 9, 0)
    """
    plain = text.strip().split("/")[-1] if text.count("/") == 1 else text.strip()
    try:
        if len(plain) == 10:
            found = datetime.combine(date.fromisoformat(plain), otherwise)
        else:
            found = datetime.fromisoformat(plain).replace(tzinfo=None)
    except ValueError:
        raise InputError(
            f"time: read {short(text.strip())}; wanted a day such as 2027-05-14, or 2027-05-14T07:30"
        ) from None
    if found.date() > today + timedelta(days=1):
        raise InputError(f"time: {plain} lies ahead of today, {today}; wanted what has been")
    if found.date() < EARLIEST:
        raise InputError(f"time: read {plain}; wanted a day after {EARLIEST}")
    return found


def _value(text: str, unit: str, observed: Property) -> tuple[float, float]:
    """Return value and last digit, in SI."""
    plain = text.strip()
    if observed.kind in (SWITCH, FINDING):
        words = SWITCH_WORDS if observed.kind == SWITCH else FINDING_WORDS
        if plain.casefold() not in words:
            raise InputError(f"result: read {short(plain)}; wanted {' or '.join(list(words)[:4])}")
        return words[plain.casefold()], 0.0
    if not plain or not _NUMBER.fullmatch(plain) or not any(c.isdigit() for c in plain):
        raise InputError(f"result: read {short(plain)}; wanted a number in {unit or observed.unit}")
    if _THOUSANDS.fullmatch(plain):
        raise InputError(f"result: read {short(plain)}, a thousand or a decimal; wanted a decimal point")
    factor = _factor(unit or observed.unit, observed.kind)
    value = float(plain.replace(",", ".")) * factor
    if not math.isfinite(value):
        raise InputError(f"result: read {short(plain)}; wanted a finite number")
    match = _NUMBER.fullmatch(plain)
    digits = len(match[3] or "") if match else 0
    return value, factor * 10.0**-digits


def _factor(unit: str, kind: str) -> float:
    plain = unit.replace("³", "3").replace("²", "2")
    for known, factor in FACTORS[kind].items():
        if plain == known or (plain.casefold() == known.casefold() and not {"m", "M"} & {plain[0], known[0]}):
            return factor  # PSI is psi; but an M may be a million, a metre or a thousandth
    other = kind_of_unit(plain)
    said = f"{unit!r} is a unit of {other}" if other else f"no unit {short(unit)}"
    raise InputError(f"unit: {said}; wanted one of {', '.join(filter(None, units_of(kind)))}")


def _bounds(observed: Property) -> str:
    if observed.kind in (SWITCH, FINDING):
        return "one of its words"
    factor = FACTORS[observed.kind][observed.unit]
    return f"{observed.least / factor:g} to {observed.most / factor:g} {observed.unit}"


def _flow(procedure: str) -> float:
    """Return the flow that a procedure names, or 0; "bucket" alone names none."""
    if re.search(r"\d,\d", procedure):
        raise InputError(f"procedure: read {short(procedure)}; wanted a decimal point in a number")
    for match in _FLOW.finditer(procedure):
        if match[2] in FACTORS["flow"]:
            try:
                return float(match[1]) * FACTORS["flow"][match[2]]
            except ValueError:
                return 0.0
    return 0.0


def said(error: InputError, place: str) -> InputError:
    """Return an error with the place it is about, on one line."""
    return InputError(one_line(f"{place}: {error}"))
