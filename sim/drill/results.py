"""A class's results: the rows of many cases read back, and how far what people said could be believed."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from sim.drill.score import by_band
from sim.scenario.read.refusal import short
from sim.scenario.read.sheet import Cell, number, read_sheet, refused
from sim.study.wording import counted, percent
from sim.study.wording import number as worded

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
    sheet = read_sheet(path)
    for name in _WANTED:
        sheet.require(name, "; wanted the rows of result.csv")
    columns = ((cell for _, cell in sheet.cells(name)) for name in _WANTED)
    return [_result(*row) for row in zip(*columns, strict=True)]


def _result(said: Cell, truth: Cell, scored: Cell) -> Result:
    right = _TRUTHS.get(truth.text.lower())
    if right is None:
        raise refused(f"{truth.place}: read {short(truth.text)}; wanted True or False")
    probability = _share(said) if said.text else None
    brier = _share(scored)
    meant = 0.25 if probability is None else (probability - right) ** 2
    if abs(brier - meant) > 1e-6:
        raise refused(f"{scored.place}: read {brier:g}; wanted {meant:g}, by its probability and right")
    return Result(probability, right, brier)


def _share(cell: Cell) -> float:
    found = number(cell, "0 to 1")
    if found > 1.0:
        raise refused(f"{cell.place}: read {short(cell.text)}; wanted 0 to 1")
    return found


def standing(results: Sequence[Result]) -> list[str]:
    """Return in lines how often the cause was right, the mean Brier score, and shares true per band."""
    if not results:
        return ["No case yet."]
    count, rights = len(results), sum(one.right for one in results)
    mean = sum(one.brier for one in results) / count
    said = [
        f"{counted(count, 'case', 'cases')}: the cause was right in {rights}; "
        f"mean Brier score {worded(mean)} (0 best, 1 worst, 0.25 for an even guess)."
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
