"""What a choice of settings looks like: cost and risk along each dial, and where everything fouls fast."""

from collections.abc import Sequence
from dataclasses import dataclass

from sim.study.search.limits import Limits, one_sided
from sim.study.search.pool import DAYS_COUNTED, SPENT, Arm, Pool
from sim.study.search.search import CONFIRM_FROM, ERROR
from sim.study.search.sensitivity import hard
from sim.study.statistics.intervals import Interval, bonferroni, mean_interval, paired_interval
from sim.study.tune.settings_grid import Dial, Point, line_through, tightened
from sim.study.tune.walk import Walk

UPPER_TENTH = "upper tenth"  # of houses, by how fast things foul: what the runs there are of
ROUND_RUNS = 6  # of each point in a round; rounds only point the way


@dataclass(frozen=True)
class Curve:
    """Cost and risk against one dial, all others as chosen."""

    dial: Dial
    level: int  # level chosen
    cost: tuple[Interval, ...]  # of each level, cost less that of the choice [money/year]
    days: tuple[Interval, ...]  # of each level, days below the dose target [d/year]
    # of each level, whether its days are over the limit and clearly more than those of the choice
    over: tuple[bool, ...]
    # first and last level around the choice that cost hardly more and keep within the limits
    flat: tuple[int, int]


@dataclass(frozen=True)
class HardLine:
    """One way of tuning, in the house as it is and in one that fouls as the upper tenth does."""

    name: str
    point: Point
    cost: Interval
    days: Interval
    holds: bool


def curves(walk: Walk, point: Point, limits: Limits, worth: float) -> list[Curve]:
    """Return cost and risk along each dial through a point, in weather nothing was chosen by."""
    points = line_through(walk.dials, point)
    pool, arms = walk.look("curves", points, CONFIRM_FROM, CONFIRM_FROM + ROUND_RUNS)
    block = (CONFIRM_FROM, CONFIRM_FROM + ROUND_RUNS)
    costs, days = pool.sample(arms, *block, SPENT), pool.sample(arms, *block, DAYS_COUNTED)
    off = pool.sample(arms, *block, "water_off_h").mean(axis=1)
    place = {one: at for at, one in enumerate(points)}
    each = bonferroni(0.95, len(points) - 1)
    found = []
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
        found.append(Curve(dial, point[at], tuple(gaps), tuple(risks), tuple(over), flat))
    return found


def _stretch(good: Sequence[bool], at: int) -> tuple[int, int]:
    first = last = at
    while first > 0 and good[first - 1]:
        first -= 1
    while last + 1 < len(good) and good[last + 1]:
        last += 1
    return first, last


def hard_lines(walk: Walk, chosen: Point, own: Point, limits: Limits, replications: int) -> list[HardLine]:
    """Return how the choice, tighter ones and the policy as it stands do where everything fouls fast."""
    named = {
        "the choice": chosen,
        "the choice, everything one step sooner": tightened(walk.dials, chosen, 1),
        "the choice, everything two steps sooner": tightened(walk.dials, chosen, 2),
        "today's setting": own,
    }
    points = list(dict.fromkeys(named.values()))
    designs = [walk.designs(points), walk.designs(points, hard(walk.scenario))]
    with walk.opener(designs, UPPER_TENTH) as runner:
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
        days = pool.sample([Arm(1, at)], *block, DAYS_COUNTED)[0]
        off = pool.sample([Arm(1, at)], *block, "water_off_h")[0]
        years = float(pool.sample([Arm(1, at)], *block, "years").min())
        bound = one_sided(days, years, ERROR)[1]
        holds = bound <= limits.days_below_target and float(off.mean()) <= limits.water_off_h
        cost = mean_interval(pool.sample([Arm(0, at)], *block, SPENT)[0], 0.95)
        lines.append(HardLine(name, point, cost, mean_interval(days, 0.95), bool(holds)))
    return lines
