"""A search over sizes: from alternatives to the choice, the front, the steps, the rules and what moves it."""

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from sim.errors import InputError
from sim.scenario.read.series import RainRecord
from sim.scenario.scenario import Scenario
from sim.scenario.sizing import Alternative
from sim.study.runs.means import Opener
from sim.study.search import describe
from sim.study.search.alternatives import Choice, choices
from sim.study.search.catalogue import Piece, equipment
from sim.study.search.limits import Limits
from sim.study.search.pool import SPENT, Arm, Pool
from sim.study.search.search import Found, difference, search
from sim.study.search.sensitivity import RUNS, Mover, house_movers, price_movers
from sim.study.size.rules_of_thumb import Rule, judged, rules
from sim.study.statistics.intervals import Interval


@dataclass(frozen=True)
class SizeStudy:
    """What a search over sizes came to.

    Attributes
    ----------
    found : Found
        Choice and fates.
    lines : DataFrame
        One row an arm, the chosen first.
    front : tuple of int
        Rows of `lines` that are on the front, cheapest first.
    steps : tuple of Step
        What each step from one size to the next buys.
    rules : tuple of Rule
        Rules of thumb beside it.
    movers : tuple of Mover
        What moves the difference to the rival; empty when there is none.
    gap : Interval or None
        Cost of the choice less that of the rival, in runs no choice was made by [money/year].
    labels : dict
        What people call an arm.
    pieces : tuple of Piece
        Equipment of the choice.
    rows : DataFrame
        Every run.
    described : int
        Runs beyond the search, to describe the choice.
    """

    found: Found
    lines: pd.DataFrame
    front: tuple[int, ...]
    steps: tuple[describe.Step, ...]
    rules: tuple[Rule, ...]
    movers: tuple[Mover, ...]
    gap: Interval | None
    labels: dict[Arm, str]
    pieces: tuple[Piece, ...]
    rows: pd.DataFrame
    described: int


def size_study(
    scenario: Scenario,
    alternatives: Sequence[Alternative],
    policies: Sequence[str],
    opener: Opener,
    worth: float,
    replications: int,
    full: bool = False,
    units: str = "us",
    rain: RainRecord | None = None,
    movers: bool = True,
) -> SizeStudy:
    """Search for the sizes that cost least within the limits of the scenario.

    Parameters
    ----------
    worth : float
        Least difference of cost that matters [money/year], above 0.
    units : str
        "us" or "si", for the rules of thumb.
    """
    if not policies:
        raise InputError("no policy was given; wanted at least one")
    made = choices(scenario, alternatives, policies)
    costs = [sum(piece.cost for piece in equipment(one.design.scenario, scenario)) for one in made]
    goals = scenario.goals
    with opener([one.design for one in made], "sizes") as runner:
        pool = Pool(runner, costs)
        found = search(
            pool, Limits(goals.limit_days_below_target, goals.limit_water_off_h), worth, replications, full
        )
        line = describe.fresh_front(pool, found)
    moved: list[Mover] = []
    gap = None
    if found.chosen is not None and found.rival is not None:
        gap = difference(pool, found.chosen, found.rival, SPENT, describe.CONFIDENCE, found.compare)
        moved = price_movers(pool, found.chosen, found.rival, costs)
        if movers:
            runs = min(RUNS, replications)
            moved += house_movers(opener, pool, found.chosen, found.rival, costs, runs)
    lines = describe.table(pool, found, made, alternatives, costs)
    places = {Arm(int(d), int(p)): at for at, (d, p) in enumerate(
        zip(lines["design_number"], lines["policy_number"], strict=True))}  # fmt: skip
    return SizeStudy(
        found=found,
        lines=lines,
        front=tuple(places[arm] for arm in line),
        steps=tuple(describe.steps(pool, found, made, alternatives)),
        rules=tuple(rules(scenario, judged(lines), [one.key for one in alternatives], units, rain)),
        movers=tuple(moved),
        gap=gap,
        labels={arm: pool.label(arm) for arm in found.fates},
        pieces=tuple(_pieces(scenario, made, found)),
        rows=pool.rows,
        described=pool.runs - found.searched,
    )


def _pieces(scenario: Scenario, made: list[Choice], found: Found) -> list[Piece]:
    if found.chosen is None:
        return []
    return equipment(made[found.chosen.design].design.scenario, scenario)
