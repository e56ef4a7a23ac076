"""How long a search over sizes takes, against the full grid: python tests/bench/search.py [screened] [grid].

48 designs under 2 policies, 20 replications of 3 years: 5,760 household-years in the grid. With `quick` 8
designs for a year, to see that it works.
"""

import contextlib
import os
import resource
import sys
import threading
import time
from collections import Counter
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from sim.scenario.read.load import DEMO, load
from sim.study.runs.request import Inputs
from sim.study.runs.runner import open_runner
from sim.study.search.alternatives import choices, parse_try
from sim.study.search.catalogue import equipment
from sim.study.search.limits import Limits
from sim.study.search.pool import SPENT, Pool
from sim.study.search.search import difference, search

TRIES = (
    "stage.sediment.size=2.5x10,4.5x10,4.5x20",
    "stage.carbon.size=4.5x10,4.5x20",
    "uv.rated_flow=6 gpm,8 gpm",
    "pressure_tank.volume=44 gal,86 gal",
    "cistern.capacity=5000 gal,10000 gal",
)
POLICIES = ("by the calendar", "by the readings")
YEARS, REPLICATIONS, WORTH, WORKERS, SEED = 3, 20, 25.0, 2, 1
FRESH = (30_000, 30_020)  # replications neither way of searching has looked at


class Bench:
    """The designs, and how each way of searching them went."""

    def __init__(self, quick):
        """Make the designs.

        Parameters
        ----------
        quick : bool
            8 designs and a year, to see that it works.
        """
        scenario = load(DEMO)
        tries = TRIES[-3:] if quick else TRIES
        made = choices(scenario, [parse_try(text) for text in tries], POLICIES)
        self.designs = [one.design for one in made]
        self.costs = [sum(piece.cost for piece in equipment(one.scenario, scenario)) for one in self.designs]
        self.years = 1 if quick else YEARS
        goals = scenario.goals
        self.limits = Limits(goals.limit_days_below_target, goals.limit_water_off_h)

    def runner(self):
        """Return what runs the designs."""
        return open_runner(self.designs, Inputs(SEED, self.years), WORKERS)

    def search(self, full):
        """Search one way, print how it went, and return the choice."""
        with self.runner() as runner:
            pool, began = Pool(runner, self.costs), time.perf_counter()
            found = search(pool, self.limits, WORTH, REPLICATIONS, full)
            took = time.perf_counter() - began
        name = pool.label(found.chosen) if found.chosen else "none"
        share = f", {1 - found.searched / found.grid:.0%} saved" if not full else ""
        print(
            f"{'full grid' if full else 'screened'}: {took:.0f} s, {pool.runs:,} runs of {self.years} years"
        )
        print(f"  {found.searched:,} to choose by, {found.grid:,} in the grid{share}")
        print(
            f"  choice: {name}, settled: {found.settled}; {dict(Counter(found.fates.values()))}", flush=True
        )
        if full:
            chosen = self.cheapest(pool)
            print(f"  cheapest by the means of the grid: {pool.label(chosen)}", flush=True)
            return chosen
        return found.chosen

    def cheapest(self, pool):
        """Return the cheapest arm whose means are within the limits, sure or not: how people read a grid."""
        fine = [True] * len(pool.arms)
        for name, limit in self.limits.columns():
            fine &= pool.sample(pool.arms, 0, REPLICATIONS, name).mean(axis=1) <= limit
        costs = pool.sample(pool.arms, 0, REPLICATIONS, SPENT).mean(axis=1)
        return pool.arms[int(np.where(fine, costs, np.inf).argmin())]

    def between(self, one, other):
        """Print how two choices differ in weather neither was chosen by."""
        with self.runner() as runner:
            pool = Pool(runner, self.costs)
            pool.need([one, other], *FRESH)
        gap = difference(pool, one, other, SPENT, 0.95)
        more = f"{gap.estimate:.1f} +- {gap.half_width:.1f}"
        print(f"in fresh weather the screened choice costs {more} a year more")


class Memory(threading.Thread):
    """Looks twice a second at the memory of this process and its children: proportional set size, Linux."""

    def __init__(self):
        """Begin with none seen."""
        super().__init__(daemon=True)
        self.peak_mib = 0.0

    def run(self):
        """Look, until the process ends."""
        while True:
            self.peak_mib = max(self.peak_mib, sum(_mib(pid) for pid in _family(os.getpid())))
            time.sleep(0.5)


def _family(pid):
    children = Path(f"/proc/{pid}/task/{pid}/children")
    found = children.read_text().split() if children.exists() else []
    return [pid, *(one for child in found for one in _family(int(child)))]


def _mib(pid):
    with contextlib.suppress(OSError):  # gone by now
        lines = Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines()
        return sum(int(line.split()[1]) for line in lines if line.startswith("Pss:")) / 1024
    return 0.0


def main(words):
    """Run what is asked for."""
    memory = Memory()
    memory.start()
    bench = Bench("quick" in words)
    ways = [way for way in ("screened", "grid") if way in words] or ["screened", "grid"]
    chosen = [bench.search(way == "grid") for way in ways]
    if len(chosen) == 2:
        print(f"same choice: {chosen[0] == chosen[1]}")
        if None not in chosen and chosen[0] != chosen[1]:
            bench.between(*chosen)
    busy = resource.getrusage(resource.RUSAGE_CHILDREN)
    busy_s = busy.ru_utime + busy.ru_stime
    print(
        f"workers were busy {busy_s:.0f} s in all, {busy_s / WORKERS:.0f} s on {WORKERS} cores of their own"
    )
    print(f"peak memory, shared pages counted once: {memory.peak_mib:.0f} MiB")


if __name__ == "__main__":
    main(sys.argv[1:])
