"""A class's results: the rows of many cases read back, and how far what people said could be believed."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from sim.drill.score import by_band
from sim.errors import InputError
from sim.scenario.read.refusal import one_line
from sim.study.wording import counted, number, percent

FROM_CASES = 10  # on fewer, shares of bands say nothing
_WANTED = ("probability", "right", "brier")
_TRUTHS = {"true": True, "false": False, "1": True, "0": False}


@dataclass(frozen=True)
class Result:
    """One case of somebody: the probability of the cause held last, if one was named, and its Brier score."""

    probability: float | None
    right: bool
    brier: float


def read_results(paths: Sequence[Path]) -> list[Result]:
    """Read the rows of result files, each row a case; refused in one line."""
    return [one for path in paths for one in _rows(path)]


def _rows(path: Path) -> list[Result]:
    try:
        table = pd.read_csv(path, dtype=str, keep_default_na=False)
    except (OSError, ValueError) as error:
        raise InputError(one_line(f"{path}: {error}")) from None
    for name in _WANTED:
        if name not in table.columns:
            raise InputError(f"{path}: no column {name!r}; wanted the rows of result.csv")
    rows = zip(*(table[name] for name in _WANTED), strict=True)
    return [_result(f"{path}: row {at}", *row) for at, row in enumerate(rows, 1)]


def _result(where: str, said: str, truth: str, scored: str) -> Result:
    right = _TRUTHS.get(truth.strip().lower())
    if right is None:
        raise InputError(f"{where}: right: read {truth!r}; wanted True or False")
    probability = _share(where, "probability", said) if said.strip() else None
    brier = _share(where, "brier", scored)
    meant = 0.25 if probability is None else (probability - right) ** 2
    if abs(brier - meant) > 1e-6:
        raise InputError(f"{where}: brier: read {brier:g}; wanted {meant:g}, by its probability and right")
    return Result(probability, right, brier)


def _share(where: str, name: str, words: str) -> float:
    try:
        found = float(words)
    except ValueError:
        found = math.nan
    if not 0.0 <= found <= 1.0:
        raise InputError(f"{where}: {name}: read {words!r}; wanted 0 to 1")
    return found


def standing(results: Sequence[Result]) -> list[str]:
    """Return in lines how often the cause was right, the mean Brier score, and shares true per band."""
    if not results:
        return ["No case yet."]
    count, rights = len(results), sum(one.right for one in results)
    mean = sum(one.brier for one in results) / count
    said = [
        f"{counted(count, 'case', 'cases')}: the cause was right in {rights}; "
        f"mean Brier score {number(mean)} (0 best, 1 worst, 0.25 for an even guess)."
    ]
    pairs = [(one.probability, one.right) for one in results if one.probability is not None]
    if len(pairs) < FROM_CASES:
        return [*said, f"How probabilities came true is told from {FROM_CASES} cases with a named cause on."]
    said += [
        f"Of {counted(n, 'cause', 'causes')} given {percent(low)} to {percent(min(high, 1.0))}, "
        f"{percent(given)} on average, {percent(true)} were right."
        for low, high, given, true, n in by_band(pairs)
    ]
    return said
