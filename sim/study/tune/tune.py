"""A search over the intervals and thresholds of one policy: from where it stands, dial by dial.

Round by round all points on the lines through the best so far meet the same weather; the best level of each
dial, taken together, is the next point. Finalists then meet fresh weather in a selection with its guarantee.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from sim.scenario.care import Policy
from sim.scenario.scenario import Scenario
from sim.study.runs.means import Opener
from sim.study.runs.request import Design
from sim.study.search.limits import Limits, one_sided
from sim.study.search.pool import SPENT, Arm, Floats, Pool
from sim.study.search.search import (
    CONFIRM_FROM,
    ERROR,
    LIMIT_SHARE,
    MOST_FACTOR,
    SELECT_FROM,
)
from sim.study.search.selection import FIRST_RUNS, Selection, select
from sim.study.search.sensitivity import Mover, hard, price_movers
from sim.study.statistics.intervals import Interval, bonferroni, mean_interval, paired_interval
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

ROUND_RUNS = 6  # of each point in a round; rounds only point the way
MOST_ROUNDS = 4
FINALISTS = 6
ROUND_RISK = 0.2  # chance that a point that is kept in a round is over the limit; the selection decides


@dataclass(frozen=True)
class Curve:
    """Cost and risk against one dial, all others as chosen.

    Attributes
    ----------
    dial : Dial
        The dial.
    level : int
        Level chosen.
    cost : tuple of Interval
        Of each level, cost less that of the choice [money/year].
    days : tuple of Interval
        Of each level, days below the dose target [d/year].
    over : tuple of bool
        Of each level, whether its days are over the limit and clearly more than those of the choice.
    flat : tuple of int
        First and last level around the choice that cost hardly more and keep within the limits.
    """

    dial: Dial
    level: int
    cost: tuple[Interval, ...]
    days: tuple[Interval, ...]
    over: tuple[bool, ...]
    flat: tuple[int, int]


@dataclass(frozen=True)
class HardLine:
    """One way of tuning, in the house as it is and in one that fouls as the upper tenth does."""

    name: str
    point: Point
    cost: Interval
    days: Interval
    holds: bool


@dataclass(frozen=True)
class TuneStudy:
    """What a search over intervals came to.

    Attributes
    ----------
    policy : Policy
        The policy as it stands.
    found : tuple of Dial
        What could be tuned.
    own, chosen : Point or None
        Where it stands, and where it is best; None when nothing was shown within the limits.
    gap : Interval or None
        Cost of the choice less that of the policy as it stands, in weather nothing was chosen by.
    cost, days : Interval or None
        Of the choice, in that weather.
    settled : bool
        Whether the selection ended by its own rule.
    curves : tuple of Curve
        Cost and risk against each dial.
    hard : tuple of HardLine
        In a house in the upper tenth of fouling; `cost` is in the house as it is, `days` in the hard one.
    robust : Point or None
        Cheapest that holds there.
    movers : tuple of Mover
        Prices that move the difference of the choice to the next best.
    other : Point or None
        The next best.
    rows : DataFrame
        Every run in the house as it is.
    runs : int
        All runs.
    """

    policy: Policy
    found: tuple[Dial, ...]
    own: Point
    chosen: Point | None
    gap: Interval | None
    cost: Interval | None
    days: Interval | None
    settled: bool
    curves: tuple[Curve, ...]
    hard: tuple[HardLine, ...]
    robust: Point | None
    movers: tuple[Mover, ...]
    other: Point | None
    rows: pd.DataFrame
    runs: int
    worth: float
    limits: Limits


class _Walk:
    """Points that were looked at, with their pools; one design, one runner a round."""

    def __init__(self, scenario: Scenario, policy: Policy, found: Sequence[Dial], opener: Opener) -> None:
        self.scenario, self.policy, self.dials, self.opener = scenario, policy, tuple(found), opener
        self.frames: list[pd.DataFrame] = []
        self.runs = 0
        self.seen: dict[Point, tuple[float, float, float]] = {}  # mean cost, mean days, bound of days

    def designs(self, points: Sequence[Point], scenario: Scenario | None = None) -> Design:
        made = tuple(policy_at(self.policy, self.dials, point) for point in points)
        return Design(self.policy.name, scenario or self.scenario, made)

    def look(self, name: str, points: Sequence[Point], first: int, stop: int) -> tuple[Pool, list[Arm]]:
        with self.opener([self.designs(points)], name) as runner:
            pool = Pool(runner, [0.0])
            pool.need(pool.arms, first, stop)
        self.keep(pool)
        return pool, pool.arms

    def keep(self, pool: Pool) -> None:
        self.frames.append(pool.rows)
        self.runs += pool.runs

    def note(self, pool: Pool, points: Sequence[Point], limits: Limits, runs: int) -> None:
        costs, allowed = pool.sample(pool.arms, 0, runs, SPENT), _excess(pool, limits, runs)
        for at, point in enumerate(points):
            self.seen[point] = (float(costs[at].mean()), float(allowed[at][0]), float(allowed[at][1]))

    def best(self, points: Sequence[Point]) -> Point:
        """Return the cheapest of those likely within the limits, else the one nearest to them."""
        likely = [point for point in points if self.seen[point][2] <= 1.0]
        if likely:
            return min(likely, key=lambda point: self.seen[point][0])
        return min(points, key=lambda point: self.seen[point][1])


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
    walk = _Walk(scenario, policy, found, opener)
    own = own_point(found)
    centre = _climb(walk, own, limits)
    final, pool, points = _final(walk, own, centre, limits, worth, replications)
    chosen = points[final.chosen.policy] if final.chosen is not None else None
    if chosen is None:
        return TuneStudy(
            policy, tuple(found), own, None, None, None, None, final.settled,
            tuple(_curves(walk, centre, limits, worth)), (), None, (), None,
            pd.concat(walk.frames, ignore_index=True), walk.runs, worth, limits,
        )  # fmt: skip
    other = _other(pool, final, points)
    last, arms = walk.look(
        "last look", list(dict.fromkeys([chosen, own, *([other] if other else [])])), CONFIRM_FROM,
        CONFIRM_FROM + replications,
    )  # fmt: skip
    block = (CONFIRM_FROM, CONFIRM_FROM + replications)
    costs = last.sample(arms, *block, SPENT)
    place = min(1, len(arms) - 1)  # of the policy as it stands; the choice itself where they are one
    lines = _hard_lines(walk, chosen, own, limits, replications)
    holding = [line for line in lines if line.holds]
    return TuneStudy(
        policy=policy,
        found=tuple(found),
        own=own,
        chosen=chosen,
        gap=paired_interval(costs[0], costs[place], 0.95) if chosen != own else None,
        cost=mean_interval(costs[0], 0.95),
        days=mean_interval(last.sample(arms[:1], *block, "days_below_target")[0], 0.95),
        settled=final.settled,
        curves=tuple(_curves(walk, chosen, limits, worth)),
        hard=tuple(lines),
        robust=min(holding, key=lambda line: line.cost.estimate).point if holding else None,
        movers=tuple(price_movers(last, arms[0], arms[-1], [0.0])[:5]) if other else (),
        other=other,
        rows=pd.concat(walk.frames, ignore_index=True),
        runs=walk.runs,
        worth=worth,
        limits=limits,
    )


def _climb(walk: _Walk, own: Point, limits: Limits) -> Point:
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
    walk: _Walk, own: Point, centre: Point, limits: Limits, worth: float, replications: int
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


def _curves(walk: _Walk, point: Point, limits: Limits, worth: float) -> list[Curve]:
    points = line_through(walk.dials, point)
    pool, arms = walk.look("curves", points, CONFIRM_FROM, CONFIRM_FROM + ROUND_RUNS)
    block = (CONFIRM_FROM, CONFIRM_FROM + ROUND_RUNS)
    costs, days = pool.sample(arms, *block, SPENT), pool.sample(arms, *block, "days_below_target")
    off = pool.sample(arms, *block, "water_off_h").mean(axis=1)
    place = {one: at for at, one in enumerate(points)}
    each = bonferroni(0.95, len(points) - 1)
    curves = []
    for at, dial in enumerate(walk.dials):
        line = [place[(*point[:at], level, *point[at + 1 :])] for level in range(len(dial.levels))]
        gaps = [paired_interval(costs[i], costs[0], each) for i in line]
        risks = [mean_interval(days[i], each) for i in line]
        # In the same weather: the choice itself may be over the limit in a few runs.
        more = [paired_interval(days[i], days[0], each).low > 0 for i in line]
        over = [
            risk.estimate > limits.days_below_target and clearly
            for risk, clearly in zip(risks, more, strict=True)
        ]
        good = [
            gap.estimate <= worth and not beyond and off[i] <= limits.water_off_h
            for i, gap, beyond in zip(line, gaps, over, strict=True)
        ]
        flat = _stretch(good, point[at])
        curves.append(Curve(dial, point[at], tuple(gaps), tuple(risks), tuple(over), flat))
    return curves


def _stretch(good: Sequence[bool], at: int) -> tuple[int, int]:
    first = last = at
    while first > 0 and good[first - 1]:
        first -= 1
    while last + 1 < len(good) and good[last + 1]:
        last += 1
    return first, last


def _hard_lines(walk: _Walk, chosen: Point, own: Point, limits: Limits, replications: int) -> list[HardLine]:
    """Return how the choice, tighter ones and the policy as it stands do where everything fouls fast."""
    named = {
        "the choice": chosen,
        "the choice, everything one step sooner": tightened(walk.dials, chosen, 1),
        "the choice, everything two steps sooner": tightened(walk.dials, chosen, 2),
        "as it stands": own,
    }
    points = list(dict.fromkeys(named.values()))
    designs = [walk.designs(points), walk.designs(points, hard(walk.scenario))]
    with walk.opener(designs, "upper tenth") as runner:
        pool = Pool(runner, [0.0, 0.0])
        pool.need(pool.arms, CONFIRM_FROM, CONFIRM_FROM + replications)
    walk.runs += pool.runs
    block = (CONFIRM_FROM, CONFIRM_FROM + replications)
    lines, told = [], set()
    for name, point in named.items():
        if point in told:
            continue
        told.add(point)
        at = points.index(point)
        days = pool.sample([Arm(1, at)], *block, "days_below_target")[0]
        off = pool.sample([Arm(1, at)], *block, "water_off_h")[0]
        years = float(pool.sample([Arm(1, at)], *block, "years").min())
        bound = one_sided(days, years, ERROR)[1]
        holds = bound <= limits.days_below_target and float(off.mean()) <= limits.water_off_h
        cost = mean_interval(pool.sample([Arm(0, at)], *block, SPENT)[0], 0.95)
        lines.append(HardLine(name, point, cost, mean_interval(days, 0.95), bool(holds)))
    return lines


def _excess(pool: Pool, limits: Limits, runs: int) -> Floats:
    """Return, for each arm, the greatest mean over its limit, and the greatest upper bound over its limit."""
    arms = pool.arms
    years = float(pool.sample(arms, 0, runs, "years").min())
    found = np.zeros((len(arms), 2))
    for name, limit in limits.columns():
        for at, sample in enumerate(pool.sample(arms, 0, runs, name)):
            high = one_sided(sample, years, ROUND_RISK)[1]
            scale = max(limit, 1e-9)
            found[at] = np.maximum(found[at], [float(sample.mean()) / scale, high / scale])
    return found
