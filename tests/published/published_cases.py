"""Published cases: read from `cases/*.csv`, put to our equations, judged; for tests and evidence alike."""

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tests.published.equations import EQUATIONS
from tests.published.second_program import PROGRAMS

FOLDER = Path(__file__).parent / "cases"
ASIDE = Path(__file__).parent / "aside"  # of functions that only tests call: checked, and counted nowhere
COLUMNS = (
    "case", "equation", "inputs", "expected", "unit", "tolerance", "reason", "grade", "source", "place",
    "differs",
)  # fmt: skip
OUTSIDE = {"S": "read in its source", "2": "read where it is quoted", "M": "from memory of a source"}
KEPT = "ours, by `tests/published/second_program.py`"
NOT_KEPT = "ours, by a program that was not kept"
ASSUMED = "inputs assumed"
HALF_DIGIT = "half the last printed digit"


@dataclass(frozen=True)
class Case:
    """One published number, with what it takes to judge ours."""

    subject: str
    case: str
    equation: str
    inputs: str
    expected: str
    unit: str
    tolerance: str
    reason: str
    grade: str
    source: str
    place: str
    differs: str  # why ours is another number, where it is

    @property
    def arguments(self) -> dict:
        """Arguments by name: numbers, lists of numbers, or words."""
        pairs = (pair.split("=", 1) for pair in self.inputs.split("; ") if pair)
        return {name.strip(): value(text) for name, text in pairs}

    @property
    def allowed(self) -> float:
        """Tolerance as a number; that of the finest of several."""
        return float(self.tolerance) if self.tolerance else min(map(half_digit, self.expected.split()))

    @property
    def origin(self) -> str:
        """Where the number came from: outside, or from a program of ours that was kept or not."""
        if self.grade in OUTSIDE:
            return OUTSIDE[self.grade]
        if self.grade == "A":
            return ASSUMED
        return KEPT if self.equation in PROGRAMS else NOT_KEPT

    def actual(self) -> np.ndarray:
        """Ours, as a list of one or more numbers."""
        return np.atleast_1d(np.asarray(EQUATIONS[self.equation](**self.arguments), dtype=float))

    def error(self, actual: np.ndarray) -> float:
        """Largest distance from what was published."""
        return float(np.abs(actual - np.atleast_1d(value(self.expected))).max())

    def agrees(self, actual: np.ndarray) -> bool:
        """Whether ours is within the tolerance."""
        # the last factor lets a number that is half a digit away (1.875 printed 1.88) pass its rounding
        return self.error(actual) <= self.allowed * (1 + 1e-9) + 1e-15


def half_digit(number: str) -> float:
    """Return half of the last digit that is printed."""
    mantissa, _, exponent = number.lower().partition("e")
    return 0.5 * 10.0 ** (int(exponent or 0) - len(mantissa.partition(".")[2]))


def value(text: str):
    """Return a number, a list of numbers (apart by spaces), or the words as they stand."""
    try:
        found = [float(part) for part in text.split()]
    except ValueError:
        return text
    return found[0] if len(found) == 1 else np.array(found)


def cases(folder: Path = FOLDER) -> list[Case]:
    """Return all cases of a folder, by subject."""
    found = []
    for file in sorted(folder.glob("*.csv")):
        with file.open(encoding="utf-8", newline="") as lines:
            reader = csv.DictReader(lines)
            assert tuple(reader.fieldnames or ()) == COLUMNS, file.name
            found += [Case(file.stem.replace("_", " "), **row) for row in reader]
    return found
