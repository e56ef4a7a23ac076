"""Settings of one policy that were looked at, and how they did: what a search over intervals walks on."""

from collections.abc import Sequence

import numpy as np
import pandas as pd

from sim.scenario.care import Policy
from sim.scenario.scenario import Scenario
from sim.study.runs.means import Opener
from sim.study.runs.request import Design
from sim.study.search.limits import Limits
from sim.study.search.pool import SPENT, Arm, Floats, Pool
from sim.study.tune.settings_grid import Dial, Point, policy_at

ROUND_RISK = 0.2  # chance that a point that is kept in a round is over the limit; the selection decides


class Walk:
    """Points that were looked at, with their pools; one design, one runner a round."""

    def __init__(self, scenario: Scenario, policy: Policy, found: Sequence[Dial], opener: Opener) -> None:
        """Begin where nothing was looked at."""
        self.scenario, self.policy, self.dials, self.opener = scenario, policy, tuple(found), opener
        self.frames: list[pd.DataFrame] = []
        self.runs = 0
        self.seen: dict[Point, tuple[float, float, float]] = {}  # mean cost, mean days, bound of days

    def designs(self, points: Sequence[Point], scenario: Scenario | None = None) -> Design:
        """Return the design whose policies are at some points, in the house or in another."""
        made = tuple(policy_at(self.policy, self.dials, point) for point in points)
        return Design(self.policy.name, scenario or self.scenario, made)

    def look(self, name: str, points: Sequence[Point], first: int, stop: int) -> tuple[Pool, list[Arm]]:
        """Have points run through replications under a name."""
        with self.opener([self.designs(points)], name) as runner:
            pool = Pool(runner, [0.0])
            pool.need(pool.arms, first, stop)
        self.keep(pool)
        return pool, pool.arms

    def keep(self, pool: Pool) -> None:
        """Keep the rows of a look."""
        self.frames.append(pool.rows)
        self.runs += pool.runs

    def note(self, pool: Pool, points: Sequence[Point], limits: Limits, runs: int) -> None:
        """Note how points did in a round."""
        costs, allowed = pool.sample(pool.arms, 0, runs, SPENT), _excess(pool, limits, runs)
        for at, point in enumerate(points):
            self.seen[point] = (float(costs[at].mean()), float(allowed[at][0]), float(allowed[at][1]))

    def best(self, points: Sequence[Point]) -> Point:
        """Return the cheapest of those likely within the limits, else the one nearest to them."""
        likely = [point for point in points if self.seen[point][2] <= 1.0]
        if likely:
            return min(likely, key=lambda point: self.seen[point][0])
        return min(points, key=lambda point: self.seen[point][1])


def _excess(pool: Pool, limits: Limits, runs: int) -> Floats:
    """Return, for each arm, the greatest mean over its limit, and the greatest upper bound over its limit."""
    arms = pool.arms
    years = float(pool.sample(arms, 0, runs, "years").min())
    found = np.zeros((len(arms), 2))
    for one in limits.bounds():
        scale = max(one.limit, 1e-9)
        for at, sample in enumerate(pool.sample(arms, 0, runs, one.column)):
            high = one.bounds_beyond(sample, years, ROUND_RISK)[1]
            found[at] = np.maximum(found[at], [1.0 + one.beyond(sample) / scale, 1.0 + high / scale])
    return found
