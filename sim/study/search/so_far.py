"""What a search has run so far: means of every arm, rough, and no verdict."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import ClassVar, cast

import numpy as np
import pandas as pd

from sim.scenario.care import Policy
from sim.study.compare.measures import counted_days
from sim.study.runs.request import Design
from sim.study.runs.runner import StudyRunner

COLUMNS = ("name", "runs", "cost", "days", "water_off_h")


@dataclass(frozen=True)
class SoFar:
    """The arms that were run, cheapest first.

    Attributes
    ----------
    table : DataFrame
        Columns `COLUMNS`: what people call an arm, its runs, and its means [money/year, d/year, h/year].
    finished : int
        Runs of all arms.
    """

    kind: ClassVar[str] = "so far"
    table: pd.DataFrame
    finished: int


def so_far(
    runner: StudyRunner, called: Callable[[Design, Policy], str], equipment: Sequence[float] = ()
) -> SoFar:
    """Return what a search has run so far.

    Parameters
    ----------
    called : callable
        Returns what people call a policy of a design.
    equipment : sequence of float
        Cost of the equipment of each design, spread over its life [money/year]; none where all have the same.
    """
    rows = runner.finished()
    spread = np.asarray(equipment or np.zeros(len(runner.designs)))
    found = []
    for at, group in rows.groupby(["design", "policy"], sort=False):
        number, name = cast("tuple[int, str]", at)
        design = runner.designs[number]
        policy = next(one for one in design.policies if one.name == name)
        # What was spent on a new pump or tank is in its price over its life already.
        spent = group["cost"] - (group["cost_renewals"] if equipment else 0.0)
        days, off = float(counted_days(group).mean()), float(group["water_off_h"].mean())
        cost = float(spent.mean() + spread[number])
        found.append((called(design, policy), len(group), cost, max(days, 0.0), off))
    table = pd.DataFrame(found, columns=COLUMNS).sort_values("cost", ignore_index=True)
    return SoFar(table, len(rows))
