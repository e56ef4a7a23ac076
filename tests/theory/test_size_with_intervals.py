"""Sizes and intervals searched together, on toys whose cost and days are known for every pair of them."""

import numpy as np
import pandas as pd
import pytest

from sim.constants import DAY_S
from sim.errors import InputError
from sim.scenario.read import load
from sim.scenario.sizing import Alternative
from sim.study.search.alternatives import choices
from sim.study.search.describe import fresh_front, front
from sim.study.search.limits import Limits
from sim.study.search.pool import Arm, Pool
from sim.study.search.search import search
from sim.study.size.with_intervals import suited, turned
from tests.theory.test_selection import House, Name

WORTH, LIMIT = 25.0, 5.0
FACTORS = np.array([0.35, 0.7, 1.0, 1.4, 2.8])  # of an interval


class Toy:
    """Normal rows in shared weather: three sizes, each dear in work when changed often, in dirt when late."""

    def __init__(self, seed, world):
        chance = np.random.default_rng([world, 5])
        self.seed = seed
        equipment, capacity = np.cumsum(chance.uniform(10.0, 80.0, 3)), np.cumsum(chance.uniform(0.4, 1.0, 3))
        work, late = chance.uniform(60.0, 200.0), chance.uniform(40.0, 150.0)
        load = FACTORS / capacity[:, None]
        self.costs = 300.0 + equipment[:, None] + work / FACTORS + late * load**2
        self.days = 0.5 + chance.uniform(0.5, 3.0) * load**1.5
        self.designs = tuple(House(f"d{d}", tuple(Name(f"i{k}") for k in range(5))) for d in range(3))

    def run(self, requests):
        rows = []
        for request in requests:
            for number in range(request.first, request.stop):
                shared = np.random.default_rng([self.seed, number]).normal()
                for k in request.policies:
                    own = np.random.default_rng([self.seed, number, request.design, k]).normal(size=2)
                    cost = self.costs[request.design, k] + 60.0 * shared + 15.0 * own[0]
                    days = self.days[request.design, k] + 0.3 * own[1]
                    rows.append((request.design, f"i{k}", number, 3.0, cost, days))
        columns = ["design", "policy", "replication", "years", "cost", "days_below_target"]
        return pd.DataFrame(rows, columns=columns)


@pytest.mark.parametrize("problems", [10, pytest.param(200, marks=pytest.mark.long)])
def test_it_is_as_good_as_the_grid_of_all_sizes_at_all_intervals(problems, record_property):
    as_good = same = fewer = moved = 0
    for world in range(problems):
        pool = Pool(Toy(1, world), np.zeros(3))
        found = search(pool, Limits(LIMIT), WORTH, 20)
        fewer += found.searched < found.grid
        grid = Pool(Toy(2, world), np.zeros(3))  # other weather
        best = search(grid, Limits(LIMIT), WORTH, 20, full=True).chosen
        toy = Toy(1, world)
        assert found.chosen is not None
        assert best is not None
        mine, theirs = (toy.costs[arm.design, arm.policy] for arm in (found.chosen, best))
        as_good += mine <= theirs + WORTH and toy.days[found.chosen.design, found.chosen.policy] <= LIMIT
        moved += len({int(k) for k in toy.costs.argmin(axis=1)}) > 1
        line, _ = fresh_front(pool, found)
        pool.need(pool.arms, *found.compare)
        same += line == front(pool, pool.arms, *found.compare)
    record_property("no dearer than the grid", f"{as_good} of {problems}")
    record_property("front of the grid", f"{same} of {problems}")
    assert as_good / problems >= 0.95
    assert same / problems >= 0.95
    assert fewer > 0.5 * problems
    assert moved > 0.3 * problems  # sizes ask for other intervals, else there were nothing to choose together


@pytest.fixture(scope="module")
def made():
    site = load.load(load.DEMO)
    sizes = [Alternative(key="stage.sediment.size", values=("2.5x10", "4.5x20"))]
    return choices(site, sizes, ["by the calendar"])


def test_every_design_gets_every_setting_and_says_so(made):
    site = load.load(load.DEMO)
    found = turned(made, ["change cartridge: sediment", "clean cistern"], 2, "us")
    # As `tune` has them: 5 levels of a cartridge stated to last 6 months, by 3 of the cistern in 2 years.
    assert [len(one.design.policies) for one in found] == [15, 15]
    names = [policy.name for policy in found[0].design.policies]
    assert len(set(names)) == 15
    assert names.count("by the calendar") == 1
    own = next(p for p in site.policies if p.name == "by the calendar")
    for policy in found[1].design.policies:
        rule, kept = (
            next(r for r in p.rules if r.task == "change cartridge" and r.stage == "sediment")
            for p in (policy, own)
        )
        said = f"change cartridge: sediment at {round(rule.every_s / DAY_S)} days"
        assert (said in policy.name) == (rule.every_s != kept.every_s)


def test_designs_with_other_intervals_are_refused():
    site = load.load(load.DEMO)
    sizes = [Alternative(key="stage.carbon", values=("with", "without"))]
    with pytest.raises(InputError, match="other intervals to turn at without carbon than at with carbon"):
        turned(choices(site, sizes, ["by the calendar"]), ["replace lamp"], 2, "us")


def test_what_suits_a_design_is_the_cheapest_that_is_not_over_a_limit():
    lines = pd.DataFrame(
        [("a", "x", 90.0, "over a limit"), ("a", "y", 100.0, "chosen"), ("a", "z", 120.0, "dearer"),
         ("b", "x", 130.0, "not shown to be within the limits"), ("b", "z", 140.0, "dearer")],
        columns=["design", "policy", "cost", "fate"],
    )  # fmt: skip
    said = "What suits each design by the runs it had, cost in USD a year: a: y (100); b: z (140)."
    assert suited(lines, "USD") == said
    assert suited(lines.iloc[:1], "USD") == ""


def test_arms_are_designs_at_settings(made):
    found = turned(made, ["change cartridge: sediment"], 2, "us")
    pool = Pool(type("Runner", (), {"designs": [one.design for one in found], "run": None})(), [0.0, 0.0])
    assert pool.label(Arm(1, 0)).startswith(
        "sediment 4.5x20 (by the calendar, change cartridge: sediment at "
    )
