"""Recorded quantities: read from the tables here, put beside ours, judged; for tests and evidence alike."""

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

FOLDER = Path(__file__).parent
RULES = ("four se", "homes", "gap")
GAP_KNOWN_TO = 0.05  # of the recorded value; a stated gap is rounded, and ours has some chance in it


@dataclass(frozen=True)
class Recorded:
    """One quantity as it was recorded, with what it takes to judge ours."""

    table: str
    key: str
    quantity: str
    recorded: str
    se: str
    n: str
    unit: str
    data: str
    grade: str
    before: str
    rule: str
    gap: str
    judged: str
    why: str

    @property
    def value(self) -> float:
        """Recorded value as a number."""
        return float(self.recorded)

    def off(self, ours: float) -> float:
        """Relative distance of ours from what was recorded."""
        return ours / self.value - 1.0


def rows(name: str) -> list[dict[str, str]]:
    """Return the rows of a table, without the lines that say where it is from."""
    text = (FOLDER / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in text if not line.startswith("#")))


def recorded(*tables: str) -> list[Recorded]:
    """Return the recorded quantities of some tables."""
    return [Recorded(table, **row) for table in tables for row in rows(table)]


def range_of(key: str, cases: list[Recorded]) -> tuple[float, float]:
    """Return the least and the most of what homes were recorded to have."""
    values = [case.value for case in cases if case.key == key]
    return min(values), max(values)


def agrees(case: Recorded, ours: float, cases: list[Recorded]) -> bool:
    """Return whether ours keeps the rule of its row."""
    if case.rule == "four se":
        return abs(ours - case.value) <= 4.0 * float(case.se)
    if case.rule == "homes":
        least, most = range_of(case.key, cases)
        return least <= ours <= most
    return abs(case.off(ours) - float(case.gap)) <= GAP_KNOWN_TO


def verdict(case: Recorded, ours: float, cases: list[Recorded]) -> str:
    """Return how ours stands beside what was recorded, in words."""
    if not agrees(case, ours, cases):
        return "**fails**: not as its row says"
    if case.rule == "four se":
        return f"within {max(abs(ours - case.value) / float(case.se), 0.1):.1f} se"
    if case.rule == "homes":
        return "between recorded homes"
    return f"gap {round(case.off(ours), 2) + 0.0:+.0%}"  # no "-0%"


def shares(name: str) -> npt.NDArray[np.float64]:
    """Return recorded shares of the 24 hours, scaled to sum 1."""
    found = np.array([float(row["share"]) for row in rows(name)])
    return found / found.sum()
