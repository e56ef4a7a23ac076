"""How much to hand out at once: as much as takes a few seconds, by how long the last batches took."""

from collections import deque
from collections.abc import Iterable

from sim.study.runs.batch import Batch, Unit

WANTED_S = 2.0  # a batch: long against handing it out, short against losing it
LEAST_S = 0.5
MOST_YEARS = 60  # policy-years one unit may hold: some seconds' work


class Pace:
    """Cuts units of work into batches."""

    def __init__(self, years: int) -> None:
        """Begin without a measurement: the first batches are one unit each."""
        self.years = years
        self._year_s: float | None = None  # what a household-year takes

    def note(self, batch: Batch, took_s: float) -> None:
        """Learn from a finished batch; the latest counts for half, as the first ones still load code."""
        latest_s = took_s / max(self.weigh(batch), 1)
        self._year_s = latest_s if self._year_s is None else 0.5 * (self._year_s + latest_s)

    def weigh(self, units: Iterable[Unit]) -> int:
        """Return the household-years of units."""
        return self.years * sum(len(unit.policies) for unit in units)

    def cut(self, left: deque[Unit], places: int) -> Batch:
        """Take the next batch off the front of what is left."""
        batch = [left.popleft()]
        if self._year_s is None:
            return tuple(batch)
        share_s = self._year_s * self.weigh(batch) * len(left) / (2 * places)
        wanted_years = min(WANTED_S, max(share_s, LEAST_S)) / self._year_s
        while left and self.weigh((*batch, left[0])) <= wanted_years:
            batch.append(left.popleft())
        return tuple(batch)
