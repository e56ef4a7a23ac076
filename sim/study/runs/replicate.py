"""Many runs of many policies of one house: all through the same replications, stopped when enough.

All policies of a replication meet the same weather, draws, power cuts and part lives, made once for them all.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

import pandas as pd

from sim.errors import InputError, Interrupted
from sim.scenario.care import Policy
from sim.scenario.read.series import RainRecord
from sim.scenario.scenario import Scenario
from sim.study.runs.dispatch import COMPLETE
from sim.study.runs.quota import MOST_REPLICATIONS, MOST_WORKERS, MOST_YEARS, in_range
from sim.study.runs.request import Design, Inputs, Request
from sim.study.runs.runner import StudyRunner, open_runner
from sim.study.statistics.stopping import enough

CONFIDENCE = 0.95
INTERRUPTED = "interrupted"


@dataclass(frozen=True)
class StudyResult:
    """What a study finished.

    Attributes
    ----------
    rows : DataFrame
        One row per policy and replication, in the order of the policies, then of the replications.
    finished : int
        Replications every policy finished and that are in `rows`.
    wanted : int
        Replications that were asked for.
    stopped_because : str
        "complete", "interrupted", or the sentence why fewer replications are enough.
    """

    rows: pd.DataFrame
    finished: int
    wanted: int
    stopped_because: str

    @property
    def interrupted(self) -> bool:
        """Whether the user stopped it."""
        return self.stopped_because == INTERRUPTED

    @property
    def by_spread(self) -> bool:
        """Whether the number of runs was settled by the spread of the differences."""
        return self.stopped_because not in {COMPLETE, INTERRUPTED}


@dataclass
class _Stop:
    """Looks, replication by replication in order, whether the cost differences are known well enough."""

    runner: StudyRunner
    reference: str
    within: float
    costs: dict[str, list[float]] = field(default_factory=dict)
    looked: int = 0

    def __call__(self) -> str:
        design = self.runner.designs[0]
        names = [policy.name for policy in design.policies]
        at = names.index(self.reference)
        while self.runner.knows(0, range(len(names)), self.looked):
            costs = [self.runner.value(0, one, self.looked, "cost") for one in range(len(names))]
            for name, cost in zip(names, costs, strict=True):
                if name != self.reference:
                    self.costs.setdefault(name, []).append(cost - costs[at])
            self.looked += 1
            met, why = enough(self.costs, self.within, CONFIDENCE, design.scenario.prices.currency)
            if met:
                return why
        return ""


def study(
    scenario: Scenario,
    policies: Sequence[Policy],
    seed: int,
    years: int,
    replications: int,
    workers: int,
    rain: RainRecord | None,
    draws: dict[str, Any] | None,
    on_progress: Callable[[int, int], None],
    within: float | None = None,
    reference: str | None = None,
) -> StudyResult:
    """Run every policy through the same replications.

    Parameters
    ----------
    seed : int
        Root of every random stream, >= 0.
    years : int
        Length of one run [year], >= 1.
    replications : int
        Runs of each policy, >= 1; a cap when `within` is given.
    workers : int
        Processes, >= 1; the rows are the same for any number.
    within : float, optional
        Stop once all yearly cost differences to the reference are known to this half-width [money/year], > 0.

    Raises
    ------
    InputError
        When a number is below its range or there is no policy.
    TwinError
        When worker processes died again and again.
    """
    check_asked(seed, years, replications, workers, within)
    if not policies:
        raise InputError("no policy was given; wanted at least one")
    per = len(policies)
    with open_runner(
        [Design(scenario.name, scenario, tuple(policies))],
        Inputs(seed, years, rain, draws),
        workers,
        on_progress=lambda finished, wanted: on_progress(finished // per, wanted // per),
    ) as runner:
        return replicated(runner, replications, within, reference)


def replicated(
    runner: StudyRunner, replications: int, within: float | None = None, reference: str | None = None
) -> StudyResult:
    """Run every policy of the first design of a runner through the same replications.

    Parameters
    ----------
    replications : int
        Runs of each policy, >= 1; a cap when `within` is given.
    within : float, optional
        Stop once all yearly cost differences to the reference are known to this half-width [money/year], > 0.
    """
    policies = runner.designs[0].policies
    everyone = tuple(range(len(policies)))
    stop = None if within is None else _Stop(runner, reference or policies[0].name, within)
    try:
        because = runner.advance([Request(0, everyone, 0, replications)], stop or str)
    except Interrupted:
        because = INTERRUPTED
    # After an early end workers may have run ahead: only what was looked at counts, whatever their number.
    last = stop.looked if stop is not None and because not in {COMPLETE, INTERRUPTED} else replications
    done = [number for number in range(last) if runner.knows(0, everyone, number)]
    table = runner.rows([Request(0, (one,), number, number + 1) for one in everyone for number in done])
    return StudyResult(table.drop(columns="design"), len(done), replications, because)


def check_asked(seed: int, years: int, replications: int, workers: int, within: float | None) -> None:
    """Refuse a study of which too little or too much is asked.

    Raises
    ------
    InputError
        When a number is out of its range.
    """
    in_range("seed", seed, 0)
    in_range("years", years, 1, MOST_YEARS)
    in_range("replications", replications, 1, MOST_REPLICATIONS)
    in_range("workers", workers, 1, MOST_WORKERS)
    if within is not None and not 0 < within < math.inf:
        raise InputError(f"within is {within:g}; wanted an amount of money above 0")
