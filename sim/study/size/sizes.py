"""A search over sizes: from alternatives to the choice, the front, the steps, the rules and what moves it."""

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from sim.errors import InputError
from sim.scenario.quotation import Item
from sim.scenario.read.series import RainRecord
from sim.scenario.scenario import Scenario
from sim.scenario.sizing import Alternative
from sim.study.runs.means import Opener
from sim.study.search import describe
from sim.study.search.alternatives import Choice
from sim.study.search.catalogue import Piece, equipment, yearly
from sim.study.search.limits import Limits, limits_of, put_out
from sim.study.search.pool import SPENT, Arm, Pool
from sim.study.search.search import OVER, Found, difference, search
from sim.study.search.sensitivity import RUNS, Mover, house_movers, price_movers
from sim.study.size.paper import Paper, everything, held, paper_sentences
from sim.study.size.rules_of_thumb import Rule, judged, rules
from sim.study.statistics.intervals import Interval
from sim.study.wording import listed
from sim.units import Units

SEARCHED = "sizes"  # what the runs of the search itself are of


@dataclass(frozen=True)
class SizeStudy:
    """What a search over sizes came to."""

    found: Found  # choice and fates
    lines: pd.DataFrame  # one row an arm, the chosen first
    front: tuple[int, ...]  # rows of `lines` that are on the front, cheapest first
    undecided: tuple[int, ...]  # rows off it that nothing was shown to beat
    steps: tuple[describe.Step, ...]  # what each step from one size to the next buys
    rules: tuple[Rule, ...]  # rules of thumb beside it
    movers: tuple[Mover, ...]  # what moves the difference to the rival; empty when there is none
    # cost of the choice less that of the rival, in runs no choice was made by [money/year]
    gap: Interval | None
    labels: dict[Arm, str]  # what people call an arm
    pieces: tuple[Piece, ...]  # equipment of the choice
    rows: pd.DataFrame  # every run
    described: int  # runs beyond the search, to describe the choice
    paper: Paper  # what criteria say of the designs
    over: dict[str, int]  # how many of those over a limit are beyond each
    lacking: tuple[str, ...]  # what the quotations of the choice do not say, a sentence an item


def size_study(
    scenario: Scenario,
    alternatives: Sequence[Alternative],
    made: Sequence[Choice],
    opener: Opener,
    worth: float,
    replications: int,
    full: bool = False,
    units: Units = "us",
    rain: RainRecord | None = None,
    movers: bool = True,
    items: Sequence[Item] = (),
    by_criteria: bool = True,
    limits: Limits | None = None,
) -> SizeStudy:
    """Search for the sizes that cost least within the limits of the scenario.

    Parameters
    ----------
    made : sequence of Choice
        Every design, under the policies it is looked after by.
    worth : float
        Least difference of cost that matters [money/year], above 0.
    units : str
        "us" or "si", for the rules of thumb.
    limits : Limits
        What is accepted; what the scenario states when None.
    """
    if not made[0].design.policies:
        raise InputError("no policy was given; wanted at least one")
    paper = held(made, rain, items) if by_criteria else everything(made)
    if not paper.left:
        raise InputError(f"no design is left to run. {' '.join(paper_sentences(paper))}")
    costs = [yearly(one.design.scenario, scenario) for one in made]
    with opener([one.design for one in made], SEARCHED) as runner:
        pool = Pool(runner, costs)
        arms = [arm for arm in pool.arms if arm.design in paper.left]
        found = search(pool, limits or limits_of(scenario.goals), worth, replications, full, arms)
        line, undecided = describe.fresh_front(pool, found)
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
        undecided=tuple(places[arm] for arm in undecided),
        steps=tuple(describe.steps(pool, found, made, alternatives)),
        rules=tuple(rules(scenario, judged(lines), [one.design.scenario for one in made], units, rain)),
        movers=tuple(moved),
        gap=gap,
        labels={arm: pool.label(arm) for arm in found.fates},
        pieces=tuple(_pieces(scenario, made, found)),
        rows=pool.rows,
        described=pool.runs - found.searched,
        paper=paper,
        over=put_out(pool, [arm for arm, fate in found.fates.items() if fate == OVER], found.limits),
        lacking=_lacking(items, made[found.chosen.design] if found.chosen else None),
    )


def _pieces(scenario: Scenario, made: Sequence[Choice], found: Found) -> list[Piece]:
    if found.chosen is None:
        return []
    return equipment(made[found.chosen.design].design.scenario, scenario)


def _lacking(items: Sequence[Item], choice: Choice | None) -> tuple[str, ...]:
    chosen = [item for item in items if choice is not None and item.name in choice.values and item.missing]
    return tuple(
        f"Not known of {item.name}: {listed([key.replace('_', ' ') for key in item.missing])}; the runs "
        "took the site's own numbers in their place."
        for item in chosen
    )
