"""What a batch comes to. Imports no tables and no figures: every worker pays for what stands here."""

import gc
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple, cast

import numpy as np
import numpy.typing as npt

from sim.outcome import measures
from sim.scenario.care import Policy
from sim.scenario.read.series import RainRecord
from sim.scenario.scenario import Scenario
from sim.scenario.values.ranges import outside
from sim.twin import run as twin
from sim.twin.basis import Basis, basis_of
from sim.twin.common import Common, common_of

Row = dict[str, float | int | str]
Columns = dict[str, npt.NDArray[Any] | list[str]]
Planned = tuple[Scenario, tuple[Policy, ...], int]  # a design, its policies, its root of chance
MOST_KEPT_YEARS = 24  # of common inputs held for the next design: some megabytes a year


class Unit(NamedTuple):
    """The least a worker is asked for: some policies of one design through one replication."""

    design: int
    policies: tuple[int, ...]
    replication: int


Batch = tuple[Unit, ...]


@dataclass(frozen=True)
class Done:
    """What came of a batch: a row for each policy of each unit, and how long it took."""

    columns: Columns
    took_s: float


@dataclass
class Kept:
    """What one run leaves for the next, so that designs that share it do not make it anew."""

    # basis, root of chance, replication and common inputs, the latest last
    commons: list[tuple[Basis, int, int, Common]] = field(default_factory=list)
    # by design: names of its inputs outside the ranges in which they are believed
    beyond: dict[int, tuple[str, ...]] = field(default_factory=dict)


@dataclass(frozen=True)
class Job:
    """What every batch of a study shares; sent to a worker once."""

    designs: Sequence[Planned]
    years: int
    rain: RainRecord | None
    draws: dict[str, Any] | None
    kept: Kept = field(default_factory=Kept, repr=False, compare=False)

    def unit(self, unit: Unit) -> list[Row]:
        """Run some policies of a design through one replication."""
        scenario, policies, seed = self.designs[unit.design]
        common, beyond = self._common(scenario, seed, unit.replication), self._beyond(unit.design)
        rows = []
        for number in unit.policies:
            rows.append(measures.row(twin.run(scenario, policies[number], common), self.draws, beyond))
            gc.collect()  # processes and their world hold each other, and years of draws with them
            gc.freeze()  # what a first run loaded stays too
        return rows

    def _common(self, scenario: Scenario, seed: int, replication: int) -> Common:
        """Return the common inputs of a replication, those of an earlier design where they are the same."""
        basis, held = basis_of(scenario), self.kept.commons
        for other, *chance, common in held:
            if chance == [seed, replication] and other == basis:
                return common
        same = [one for one in held if one[1:3] == (seed, replication)]
        held[:] = same[max(0, len(same) + 1 - max(1, MOST_KEPT_YEARS // self.years)) :]
        found = common_of(basis, replication, seed, self.years, self.rain, self.draws)
        held.append((basis, seed, replication, found))
        return found

    def _beyond(self, design: int) -> tuple[str, ...]:
        if design not in self.kept.beyond:
            self.kept.beyond[design] = outside(self.designs[design][0], draws=self.draws)
        return self.kept.beyond[design]


def run_batch(job: Job, batch: Batch) -> Done:
    """Run a batch."""
    began_s = time.perf_counter()
    collects = gc.isenabled()
    gc.freeze()  # what is there already stays, and need not be looked through after each run
    gc.disable()  # nor what a run has under way
    try:
        rows = [row for unit in batch for row in job.unit(unit)]
    finally:
        gc.unfreeze()
        if collects:
            gc.enable()
    return Done(columns(rows), time.perf_counter() - began_s)


def columns(rows: Sequence[Row]) -> Columns:
    """Return rows as columns, a fifth of their size."""
    found: Columns = {}
    for name, first in rows[0].items():
        values = [row[name] for row in rows]
        found[name] = cast("list[str]", values) if isinstance(first, str) else np.array(values)
    return found
