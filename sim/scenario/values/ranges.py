"""Where the numbers of a site are believed; outside, a result is marked "extrapolated"."""

import csv
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np
import numpy.typing as npt

from sim.constants import YEAR_DAYS
from sim.scenario.read.series import RainRecord
from sim.scenario.scenario import Scenario
from sim.scenario.values.numbers import Number, numbers
from sim.units import to_si

ROLES = ("known", "choice", "price", "uncertain")
_ROUNDING = 1e-9  # relative; a number at its bound is not outside for a rounding of its unit
_NAMES = re.compile(r"\[[^\]]*\]")


@dataclass(frozen=True)
class Range:
    """The range of one kind of number."""

    key: str  # key without names of entries, such as "stage.dirt_capacity"
    low_text: str  # bounds as written, with their unit; empty for a word
    high_text: str
    role: str
    spread: str  # how an uncertain one is drawn; empty when it is not
    grade: str  # grade of the range itself
    why: str  # what it rests on

    def bounds(self, kind: str | None) -> tuple[float, float]:
        """Return the bounds in SI."""
        return in_si(self.low_text, kind), in_si(self.high_text, kind)


def in_si(text: str, kind: str | None) -> float:
    """Return a written number in SI.

    Parameters
    ----------
    text : str
        Number with its unit, such as "40 psi".

    Examples
    --------
    >>> in_si("2 m3", "volume"), in_si("0.5", "fraction"), in_si("3", None)
    (2.0, 0.5, 3.0)
    """
    if kind is None:
        return float(text)
    number, _, unit = text.partition(" ")
    return to_si(float(number), unit, kind)


@cache
def ranges() -> Mapping[str, Range]:
    """Return all ranges by key."""
    text = (files("scenarios") / "ranges.csv").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    return {
        row["key"]: Range(
            row["key"], row["low"], row["high"], row["role"], row["spread"], row["grade"], row["why"]
        )
        for row in csv.DictReader(lines)
    }


# What serves pump and tank has no range where the cistern's level alone feeds the house: it is not there.
# The height is then the fall from the cistern, whose pressure, rho g h, holds for any.
_OF_PUMPING = ("pump.", "pressure_switch.", "pressure_tank.")


def outside(
    scenario: Scenario, rain: RainRecord | None = None, draws: Mapping[str, Any] | None = None
) -> tuple[str, ...]:
    """Return the names of the inputs that lie outside their ranges.

    Keys, in the order of the models, then "rain.day", "rain.year" and "draws.flow".
    """
    unread = _OF_PUMPING if scenario.cistern.gravity_feed else ()
    found = [
        number.key
        for number in numbers(scenario)
        if _is_outside(number) and not number.key.startswith(unread)
    ]
    return (*found, *(rain_outside(rain.depth_m) if rain else ()), *draws_outside(draws))


def rain_outside(depth_m: npt.NDArray[np.float64]) -> tuple[str, ...]:
    """Return the names under which daily rain lies outside its ranges.

    Of "rain.day" (the wettest day) and "rain.year" (the yearly mean).
    """
    seen = {
        "rain.day": float(depth_m.max()),
        "rain.year": float(depth_m.mean()) * YEAR_DAYS,
    }
    return tuple(key for key, found_m in seen.items() if _beyond(found_m, *_bounds(key, "length")))


def draws_outside(draws: Mapping[str, Any] | None) -> tuple[str, ...]:
    """Return the names under which metered draws lie outside their ranges.

    "draws.flow" when any metered flow does.
    """
    flows = np.asarray(draws["flow_m3_s"] if draws else (), dtype=np.float64)
    given = flows[np.isfinite(flows)]
    beyond = any(_beyond(float(flow), *_bounds("draws.flow", "flow")) for flow in given)
    return ("draws.flow",) if beyond else ()


def believed(key: str) -> str:
    """Return the range of a number in words.

    Such as "believed from 20 m2 to 2000 m2: one gutter and one diverter for all of it".

    Examples
    --------
    >>> believed("years")
    'believed from 1 to 30: over longer runs the house itself would be rebuilt'
    """
    found = ranges()[_NAMES.sub("", key)]
    return f"believed from {found.low_text} to {found.high_text}: {found.why}"


def joined(rows: Iterable[object]) -> str:
    """Return the names that any of several rows gives, each once.

    Names joined by "; ", in the order first met.

    Parameters
    ----------
    rows : iterable of object
        Names joined by "; ", of each row; what is not text counts as empty.

    Examples
    --------
    >>> joined(["roof.area", "", "roof.area; years", float("nan")])
    'roof.area; years'
    """
    names = [name for row in rows if isinstance(row, str) for name in row.split("; ") if name]
    return "; ".join(dict.fromkeys(names))


def said(names: tuple[str, ...] | str) -> str:
    """Return the sentence about what lies outside its range: one line; empty when nothing does.

    Parameters
    ----------
    names : tuple of str or str
        From `outside`, or the same joined by "; " as in the rows.

    Examples
    --------
    >>> said(("roof.area",))
    'Extrapolated: roof.area is outside the range in which these equations and numbers are believed.'
    >>> said("")
    ''
    """
    listed = tuple(filter(None, names.split("; "))) if isinstance(names, str) else names
    if not listed:
        return ""
    verb = "is" if len(listed) == 1 else "are"
    ending = "the range" if len(listed) == 1 else "the ranges"
    return (
        f"Extrapolated: {', '.join(listed)} {verb} outside {ending} in which these equations and numbers "
        "are believed."
    )


def _is_outside(number: Number) -> bool:
    if number.kind_key not in ranges():
        return False
    return _beyond(number.value, *_bounds(number.kind_key, number.kind))


@cache
def _bounds(key: str, kind: str | None) -> tuple[float, float]:
    return ranges()[key].bounds(kind)


def _beyond(value: float, low: float, high: float) -> bool:
    slack = _ROUNDING * max(abs(low), abs(high))
    return value < low - slack or value > high + slack
