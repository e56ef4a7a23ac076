"""A search over the intervals and thresholds of one policy: from where it stands, dial by dial.

Round by round all points on the lines through the best so far meet the same weather; the best level of each
dial, taken together, is the next point. Finalists then meet fresh weather in a selection with its guarantee.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from sim.scenario.care import Policy
from sim.scenario.scenario import Scenario
from sim.study.runs.means import Opener
from sim.study.search.limits import Limits
from sim.study.search.pool import DAYS_COUNTED, SPENT, Pool
from sim.study.search.search import CONFIRM_FROM, ERROR, LIMIT_SHARE, MOST_FACTOR, SELECT_FROM
from sim.study.search.selection import FIRST_RUNS, Selection, select
from sim.study.search.sensitivity import Mover, price_movers
from sim.study.stated_lives import setting_note
from sim.study.statistics.intervals import Interval, mean_interval, paired_interval
from sim.study.tune.curves import ROUND_RUNS, Curve, HardLine, curves, hard_lines
from sim.study.tune.settings_grid import (
    Dial,
    Point,
    chosen_dials,
    dials,
    line_through,
    own_point,
    policy_at,
    tightened,
)
from sim.study.tune.walk import Walk

MOST_ROUNDS = 4
FINALISTS = 6


@dataclass(frozen=True)
class TuneStudy:
    """What a search over intervals came to."""

    policy: Policy  # the policy as it stands
    found: tuple[Dial, ...]  # what could be tuned
    own: Point  # where it stands, and where it is best; None when nothing was shown within the limits
    settled: bool  # whether the selection ended by its own rule
    curves: tuple[Curve, ...]  # cost and risk against each dial
    rows: pd.DataFrame  # every run in the house as it is
    runs: int
    worth: float
    limits: Limits
    chosen: Point | None = None
    outlasted: str = ""  # what the choice may leave in for longer than stated, to be told before it
    # cost of the choice less that of the policy as it stands, in weather nothing was chosen by
    gap: Interval | None = None
    cost: Interval | None = None  # of the choice, in that weather
    days: Interval | None = None
    # in a house in the upper tenth of fouling; `cost` is in the house as it is, `days` in the hard one
    hard: tuple[HardLine, ...] = ()
    robust: Point | None = None  # cheapest that holds there
    movers: tuple[Mover, ...] = ()  # prices that move the difference of the choice to the next best
    other: Point | None = None  # the next best


def tune_study(
    scenario: Scenario,
    policy: Policy,
    opener: Opener,
    limits: Limits,
    worth: float,
    replications: int,
    years: int,
    only: Sequence[str] = (),
) -> TuneStudy:
    """Search for the intervals and thresholds that cost least within the limits.

    Parameters
    ----------
    worth : float
        Least difference of cost that matters [money/year], above 0.
    years : int
        Length of a run [year].
    """
    found = chosen_dials(dials(scenario, policy, years), only)
    walk = Walk(scenario, policy, found, opener)
    own = own_point(found)
    centre = _climb(walk, own, limits)
    final, pool, points = _final(walk, own, centre, limits, worth, replications)
    chosen = points[final.chosen.policy] if final.chosen is not None else None
    said: dict[str, Any] = {}
    if chosen is not None:
        said = _described(walk, own, chosen, _other(pool, final, points), limits, replications)
    return TuneStudy(
        policy=policy,
        found=tuple(found),
        own=own,
        settled=final.settled,
        curves=tuple(curves(walk, chosen or centre, limits, worth)),
        rows=pd.concat(walk.frames, ignore_index=True),
        runs=walk.runs,
        worth=worth,
        limits=limits,
        outlasted="" if chosen is None else setting_note(policy_at(policy, found, chosen), scenario),
        **said,
    )


def _described(
    walk: Walk, own: Point, chosen: Point, other: Point | None, limits: Limits, replications: int
) -> dict[str, Any]:
    """Return what is said of a choice, from a last look at it in fresh weather."""
    block = (CONFIRM_FROM, CONFIRM_FROM + replications)
    points = list(dict.fromkeys([chosen, own, *([other] if other else [])]))
    last, arms = walk.look("last look", points, *block)
    costs = last.sample(arms, *block, SPENT)
    place = min(1, len(arms) - 1)  # of the policy as it stands; the choice itself where they are one
    lines = hard_lines(walk, chosen, own, limits, replications)
    holding = [line for line in lines if line.holds]
    return {
        "chosen": chosen,
        "gap": paired_interval(costs[0], costs[place], 0.95) if chosen != own else None,
        "cost": mean_interval(costs[0], 0.95),
        "days": mean_interval(last.sample(arms[:1], *block, DAYS_COUNTED)[0], 0.95),
        "hard": tuple(lines),
        "robust": min(holding, key=lambda line: line.cost.estimate).point if holding else None,
        "movers": tuple(price_movers(last, arms[0], arms[-1], [0.0])[:5]) if other else (),
        "other": other,
    }


def _climb(walk: Walk, own: Point, limits: Limits) -> Point:
    """Return the point at which no dial by itself does better, or where the rounds ended."""
    centre, been = own, set()
    for number in range(MOST_ROUNDS):
        been.add(centre)
        points = line_through(walk.dials, centre)
        pool, _ = walk.look(f"round {number + 1}", points, 0, ROUND_RUNS)
        walk.note(pool, points, limits, ROUND_RUNS)
        levels = []
        for at in range(len(walk.dials)):
            line = [p for p in points if all(p[i] == centre[i] for i in range(len(centre)) if i != at)]
            levels.append(walk.best(line)[at])
        together = tuple(levels)
        if together in been:
            return walk.best(points)
        centre = together
    return walk.best(list(walk.seen))


def _final(
    walk: Walk, own: Point, centre: Point, limits: Limits, worth: float, replications: int
) -> tuple[Selection, Pool, list[Point]]:
    likely = [point for point, (_, _, bound) in walk.seen.items() if bound <= 1.0]
    cheap = sorted(likely, key=lambda point: walk.seen[point][0])[:FINALISTS]
    points = list(dict.fromkeys([centre, *cheap, tightened(walk.dials, centre, 1), own]))
    with walk.opener([walk.designs(points)], "finalists") as runner:
        pool = Pool(runner, [0.0])
        final = select(
            pool, pool.arms, limits, worth, LIMIT_SHARE * ERROR, (1 - LIMIT_SHARE) * ERROR, SELECT_FROM,
            max(FIRST_RUNS, MOST_FACTOR * replications),
        )  # fmt: skip
    walk.keep(pool)
    return final, pool, points


def _other(pool: Pool, final: Selection, points: list[Point]) -> Point | None:
    """Return the cheapest within the limits besides the choice, over the runs all finalists had."""
    rest = [arm for arm in pool.arms if arm != final.chosen and final.standing[arm] == "within"]
    if not rest:
        return None
    runs = min(pool.counts(arm, SELECT_FROM, CONFIRM_FROM) for arm in rest)
    costs = pool.sample(rest, SELECT_FROM, SELECT_FROM + runs, SPENT).mean(axis=1)
    return points[rest[int(np.argmin(costs))].policy]
