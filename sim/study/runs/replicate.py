"""Many runs of many policies of one house: all through the same replications, stopped when enough.

All policies of a replication meet the same weather, draws, power cuts and part lives, made once for them all.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import pandas as pd

from sim.constants import MOST_YEARS
from sim.errors import InputError, Interrupted
from sim.study.runs.dispatch import COMPLETE
from sim.study.runs.means import ALONE, Means
from sim.study.runs.quota import MOST_REPLICATIONS, in_range
from sim.study.runs.request import Design, Inputs, Request
from sim.study.runs.runner import StudyRunner
from sim.study.statistics.stopping import enough

CONFIDENCE = 0.95
INTERRUPTED, UNDER_WAY = "interrupted", "under way"


@dataclass(frozen=True)
class StudyResult:
    """What a study finished."""

    # one row per policy and replication, in the order of the policies, then of the replications
    rows: pd.DataFrame
    finished: int  # replications every policy finished and that are in `rows`
    wanted: int  # replications that were asked for
    # "complete", "interrupted", "under way", or the sentence why fewer replications are enough
    stopped_because: str

    @property
    def interrupted(self) -> bool:
        """Whether the user stopped it."""
        return self.stopped_because == INTERRUPTED

    @property
    def by_spread(self) -> bool:
        """Whether the number of runs was settled by the spread of the differences."""
        return self.stopped_because not in {COMPLETE, INTERRUPTED, UNDER_WAY}


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


@dataclass
class _Looks:
    """Looks after planned numbers of runs whether what they say is settled."""

    runner: StudyRunner
    left: list[int]
    settled: Callable[[pd.DataFrame], str]
    finished: int = 0
    looked: int = 0

    def __call__(self) -> str:
        everyone = range(len(self.runner.designs[0].policies))
        while self.left:
            while self.finished < self.left[0] and self.runner.knows(0, everyone, self.finished):
                self.finished += 1
            if self.finished < self.left[0]:
                break
            self.looked = self.left.pop(0)
            if why := self.settled(_result(self.runner, range(self.looked), self.looked, UNDER_WAY).rows):
                return why
        return ""


@dataclass
class _Doubling:
    """Hands on what is finished in order, the first time at two replications, then at each doubling."""

    runner: StudyRunner
    wanted: int
    on_rows: Callable[[StudyResult], None]
    finished: int = 0
    handed_on: int = 1

    def __call__(self) -> None:
        everyone = range(len(self.runner.designs[0].policies))
        while self.runner.knows(0, everyone, self.finished):
            self.finished += 1
        if 2 * self.handed_on <= self.finished < self.wanted:
            self.handed_on = self.finished
            self.on_rows(_result(self.runner, range(self.finished), self.wanted, UNDER_WAY))


def study(
    design: Design,
    inputs: Inputs,
    replications: int,
    means: Means = ALONE,
    within: float | None = None,
    reference: str | None = None,
    on_rows: Callable[[StudyResult], None] | None = None,
    settled: Callable[[pd.DataFrame], str] | None = None,
    looks: Sequence[int] = (),
) -> StudyResult:
    """Run every policy of a design through the same replications.

    Parameters
    ----------
    replications : int
        Runs of each policy, >= 1; a cap when `within` is given.
    within : float, optional
        Stop once all yearly cost differences to the reference are known to this half-width [money/year], > 0.
    settled : callable, optional
        Asked, with the rows so far, after as many runs as `looks` say: why no more are wanted, or "".

    Raises
    ------
    InputError
        When a number is below its range or there is no policy.
    TwinError
        When worker processes died again and again.
    """
    check_asked(inputs.seed, inputs.years, replications, within)
    if not design.policies:
        raise InputError("no policy was given; wanted at least one")
    with means.open([design], inputs, runs_each=len(design.policies)) as runner:
        return studied(runner, replications, within, reference, on_rows, settled, looks)


def studied(
    runner: StudyRunner,
    replications: int,
    within: float | None = None,
    reference: str | None = None,
    on_rows: Callable[[StudyResult], None] | None = None,
    settled: Callable[[pd.DataFrame], str] | None = None,
    looks: Sequence[int] = (),
) -> StudyResult:
    """Study the first design of a runner that is open already, see `study`."""
    policies = runner.designs[0].policies
    everyone = tuple(range(len(policies)))
    stop: _Stop | _Looks | None = None
    pauses: list[int] = []
    if within is not None:
        stop = _Stop(runner, reference or policies[0].name, within)
    elif settled is not None:
        pauses = [one for one in looks if one < replications]
        stop = _Looks(runner, list(pauses), settled)
    partial = None if on_rows is None else _Doubling(runner, replications, on_rows)

    def look() -> str:
        if partial is not None:
            partial()
        return stop() if stop is not None else ""

    try:
        because = runner.advance([Request(0, everyone, 0, replications)], look, pauses=pauses)
    except Interrupted:
        because = INTERRUPTED
    # After an early end workers may have run ahead: only what was looked at counts.
    last = stop.looked if stop is not None and because not in {COMPLETE, INTERRUPTED} else replications
    done = [number for number in range(last) if runner.knows(0, everyone, number)]
    return _result(runner, done, replications, because)


def _result(runner: StudyRunner, done: Sequence[int], wanted: int, because: str) -> StudyResult:
    everyone = range(len(runner.designs[0].policies))
    table = runner.rows([Request(0, (one,), number, number + 1) for one in everyone for number in done])
    return StudyResult(table.drop(columns="design"), len(done), wanted, because)


def check_asked(seed: int, years: int, replications: int, within: float | None = None) -> None:
    """Refuse a study of which too little or too much is asked."""
    in_range("seed", seed, 0)
    in_range("years", years, 1, MOST_YEARS)
    in_range("replications", replications, 1, MOST_REPLICATIONS)
    if within is not None and not 0 < within < math.inf:
        raise InputError(f"within is {within:g}; wanted an amount of money above 0")
