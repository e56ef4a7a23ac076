"""A criterion of a design, what it is held to, and how a site stands to it."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, cast

from sim.units import FOOT_M, ShownKind, Units, parse, text

PASS, FAIL, UNKNOWN = "pass", "fail", "not known"
AT_MOST, AT_LEAST = "at most", "at least"
_ROUNDING = 1e-9  # relative; a value at its limit is not over it for a rounding of its unit


@dataclass(frozen=True)
class Criterion:
    """One line of the table of criteria."""

    key: str
    number: int  # of the group it belongs to
    name: str
    formula: str
    way: str  # "at most", "at least", or "as said" for what is no number
    grade: str  # of its limit, letters as in base.toml
    source: str
    kind: str = ""  # what the value is: a kind of quantity, "velocity", "count", "time", "days" or "share"
    limit: float | None = None  # in SI; None where the site has one of its own


@dataclass(frozen=True)
class Judged:
    """How a site stands to a criterion."""

    key: str
    of: str  # the part it is about, where there are several
    state: str  # "pass", "fail" or "not known"
    value: float | None  # in SI; None where it is not known, or no number
    limit: float | None
    said: str  # the value, in the units asked for
    wanted: str
    margin: str  # how far on the right side it is; with a minus on the wrong one
    note: str  # what it rests on, or what is missing

    @property
    def rule(self) -> Criterion:
        """What it is held to."""
        return criteria()[self.key]

    @property
    def label(self) -> str:
        """What people call it."""
        return f"{self.rule.name}, {self.of}" if self.of else self.rule.name


@cache
def criteria() -> dict[str, Criterion]:
    """Return all criteria by key, in order."""
    read = tomllib.loads(files("scenarios").joinpath("sizes", "criteria.toml").read_text(encoding="utf-8"))
    return {one["key"]: Criterion(**one | {"limit": _si(one)}) for one in read["criterion"]}


def judge(
    key: str,
    value: float | None,
    units: Units,
    limit: float | None = None,
    of: str = "",
    note: str = "",
) -> Judged:
    """Hold a number against its criterion; without it, or without a limit, nothing is known."""
    rule = criteria()[key]
    limit = rule.limit if limit is None else limit
    wanted = "" if limit is None else f"{rule.way} {words(limit, rule.kind, units)}"
    if value is None or limit is None:
        said = "" if value is None else words(value, rule.kind, units)
        return Judged(key, of, UNKNOWN, value, limit, said, wanted, "", note)
    spare = limit - value if rule.way == AT_MOST else value - limit
    state = PASS if spare >= -_ROUNDING * abs(limit) else FAIL
    margin = words(spare, rule.kind, units) if abs(spare) < float("inf") else ""
    said = words(value, rule.kind, units)
    if state == FAIL and wanted.endswith(f" {said}"):
        said = f"just {'over' if rule.way == AT_MOST else 'under'} {said}"
    return Judged(key, of, state, value, limit, said, wanted, margin, note)


def tell(key: str, good: bool | None, said: str, note: str = "") -> Judged:
    """Say how a site stands to what is no number; None where it is not known."""
    state = UNKNOWN if good is None else PASS if good else FAIL
    return Judged(key, "", state, None, None, said, criteria()[key].formula, "", note)


def words(value: float, kind: str, units: Units) -> str:
    """Return a value as people read it."""
    if value in (float("inf"), float("-inf")):
        return "no end"
    if kind == "velocity":
        return f"{value / FOOT_M:.1f} ft/s" if units == "us" else f"{value:.2f} m/s"
    if kind in ("time", "days"):
        return f"{value:,.0f} {'s' if kind == 'time' else 'd'}"
    if kind == "share":
        return f"{100 * value:.1f} %"
    return f"{value:,.1f}" if kind == "count" else text(value, cast("ShownKind", kind), units)


def _si(one: dict[str, Any]) -> float | None:
    limit = one.get("limit")
    return parse(limit, one["kind"]) if isinstance(limit, str) else limit
