"""What a case came to beside an expert's run of it on the same streams: never one number alone."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from sim.drill.case import Case, Move
from sim.drill.expert import expert
from sim.drill.play import Ended, played
from sim.drill.price import due

BINS = (0.0, 0.5, 0.8, 1.01)  # of the probabilities people gave


@dataclass(frozen=True)
class Came:
    """What one run of a case came to."""

    below_m3: float  # below the dose target since it could have been known, or since the fault
    off_h: float  # without water since the fault
    cost: float
    due_cost: float  # price of the mend of what still stands at the end


@dataclass(frozen=True)
class Score:
    """One case, scored."""

    known_day: int | None  # on which the expert named the right cause: it could have been known
    own: Came
    best: Came  # the expert's
    right: bool  # the cause believed last
    brier: float  # of that belief: 0 is best, 1 worst; nothing said counts as an even guess
    needless_count: int  # acts that mended nothing of the fault
    mended_day: int | None
    stopped: bool  # by an act that hurts somebody


def believed(ended: Ended) -> tuple[bool, float]:
    """Return whether the cause believed last is right, and the Brier score of its probability."""
    if not ended.log.beliefs:
        return False, 0.25
    last = ended.log.beliefs[-1]
    right = last.cause == ended.case.staged[0].name
    return right, (last.probability - right) ** 2


def score(ended: Ended, best: Ended) -> Score:
    """Score one run of a case beside the expert's."""
    truth = ended.case.staged[0]
    known = next((one.day for one in best.log.beliefs if one.cause == truth.name), None)
    since = truth.day if known is None else known
    right, brier = believed(ended)
    own, theirs = (
        Came(float(run.below_m3[since:].sum()), float(run.off_h[truth.day :].sum()), run.cost, due(run))
        for run in (ended, best)
    )
    needless = sum(not mended for _, _, mended in ended.log.acts)
    return Score(known, own, theirs, right, brier, needless, ended.mended_day, bool(ended.log.stopped))


def scored(case: Case) -> tuple[Ended, Ended, Score]:
    """Play a case, and the expert's run of it; return both and the score."""
    ended, best = played(case), expert(case)
    return ended, best, score(ended, best)


def by_band(pairs: Sequence[tuple[float, bool]]) -> list[tuple[float, float, float, float, int]]:
    """Return each band of probabilities: its ends, mean probability, share right and count."""
    found = []
    for low, high in pairwise(BINS):
        inside = [pair for pair in pairs if low <= pair[0] < high]
        if inside:
            given, came = (float(np.mean([pair[at] for pair in inside])) for at in (0, 1))
            found.append((low, high, given, came, len(inside)))
    return found


def monthly(case: Case) -> Case:
    """Return a case in which every task of upkeep is done every month, whatever shows."""
    scenario = case.scenario
    rules = {(rule.task, rule.stage) for rule in scenario.policies[0].rules if rule.by == "owner"}
    acts = [Move(move="act", what=task, stage=stage) for task, stage in sorted(rules, key=str)]
    moves = [*acts, Move(move="wait", days=30)] * ((case.ends - case.starts) // 30)
    return case.model_copy(update={"moves": tuple(moves)})
