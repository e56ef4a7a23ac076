"""When the advice changes: the policies in houses that differ in one thing, on the same chances."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import pandas as pd

from sim.constants import DAY_S
from sim.scenario.care import Goals
from sim.scenario.scenario import Scenario
from sim.study.compare.comparison import Comparison
from sim.study.compare.measures import counted_days
from sim.study.runs.request import Design, Request
from sim.study.wording import counted, given, named, number
from sim.units import shown

RUNS = 8  # of each house: enough for means with known chances in place of what was met
FLOW_SHARES = (0.75, 0.5)  # of the rated flow of the UV unit
WAITS_S = (7.0 * DAY_S, 14.0 * DAY_S)  # mean, until someone answers an alarm
VALVE = "valve"


class _Mean(NamedTuple):
    """Of one policy, a year."""

    days: float
    cost: float
    off_h: float


_Means = dict[str, _Mean]


@dataclass(frozen=True)
class OtherHouse:
    """A house that differs in one thing."""

    kind: str  # what is varied; steps of one kind grow worse
    said: str  # how a sentence begins that tells of it
    scenario: Scenario


def other_houses(scenario: Scenario) -> list[OtherHouse]:
    """Return the houses in which the advice is looked for again."""
    unit = scenario.uv
    found = []
    for share in FLOW_SHARES:
        flow_m3_s = share * unit.rated_flow_m3_s
        smaller = unit.model_copy(update={"rated_flow_m3_s": flow_m3_s})
        flow, label = shown(flow_m3_s, "flow", "us")
        said = f"With a UV unit rated for {given(round(flow, 2))} {label}"
        found.append(OtherHouse("flow", said, scenario.model_copy(update={"uv": smaller})))
    for wait_s in (one for one in WAITS_S if one > scenario.people.repair_delay_s):
        people = scenario.people.model_copy(update={"repair_delay_s": wait_s})
        said = f"If nobody answers an alarm for {counted(wait_s / DAY_S, 'day')}"
        found.append(OtherHouse("wait", said, scenario.model_copy(update={"people": people})))
    if not unit.shutoff_valve:
        held = unit.model_copy(update={"shutoff_valve": True})
        found.append(OtherHouse(VALVE, "", scenario.model_copy(update={"uv": held})))
    return found


def turning_sentences(
    scenario: Scenario,
    comparison: Comparison,
    run: Callable[[Sequence[Design], Sequence[Request]], pd.DataFrame],
) -> tuple[str, ...]:
    """Return what would change the advice, and what would take bad days away.

    Parameters
    ----------
    run : callable
        Runs designs; returns their rows with the number of the design in `design`.
    """
    names = [item.policy for item in comparison.summaries if item.standing != "over"]
    best = comparison.best
    if best is None:
        return ()
    houses = other_houses(scenario)
    policies = tuple(one for one in scenario.policies if one.name in names)
    designs = [Design(house.said or house.kind, house.scenario, policies) for house in houses]
    everyone = tuple(range(len(policies)))
    rows = run(designs, [Request(at, everyone, 0, RUNS) for at in range(len(designs))])
    means = [_means(rows[rows["design"] == at]) for at in range(len(designs))]
    said, steady = [], []
    for kind in dict.fromkeys(house.kind for house in houses if house.kind != VALVE):
        steps = [(house, mean) for house, mean in zip(houses, means, strict=True) if house.kind == kind]
        turn = next((step for step in steps if _advised(step[1], scenario.goals) != best), None)
        if turn is None:
            steady.append(steps[-1][0].said)
        else:
            said.append(_turned(turn[0].said, turn[1], best, scenario.goals))
    if steady:
        first, *others = steady
        rest = "".join(f", or {one[0].lower()}{one[1:]}" for one in others)
        said.append(f"{first}{rest}, {named(best)} stays the advice.")
    for house, mean in zip(houses, means, strict=True):
        if house.kind == VALVE:
            said.append(_with_valve(mean[best], comparison))
    return tuple(said)


def _means(rows: pd.DataFrame) -> _Means:
    """Return means a year by policy."""
    return {
        str(name): _Mean(
            *(float(one.mean()) for one in (counted_days(group), group["cost"], group["water_off_h"]))
        )
        for name, group in rows.groupby("policy", sort=False)
    }


def _advised(means: _Means, goals: Goals) -> str | None:
    """Return the cheapest, by means, of those within the limits and as good in days as the best of them."""
    kept = {
        name: one
        for name, one in means.items()
        if one.days <= goals.limit_days_below_target and one.off_h <= goals.limit_water_off_h
    }
    fewest = min((one.days for one in kept.values()), default=0.0)
    good = [name for name, one in kept.items() if one.days <= fewest + goals.days_that_matter]
    return min(good, key=lambda name: kept[name].cost, default=None)


def _turned(begins: str, means: _Means, best: str, goals: Goals) -> str:
    other = _advised(means, goals)
    has = f"{begins}, {named(best)} would have {number(means[best].days)} bad days a year"
    if other is None:
        return f"{has} and no way would keep to your limits."
    return f"{has}: choose {named(other)} ({number(means[other].days)})."


def _with_valve(mean: _Mean, comparison: Comparison) -> str:
    best = comparison.summary(str(comparison.best))
    days = f"{number(best.days_below_target.estimate)} to {number(max(mean.days, 0.0))}"
    hours = f"{number(best.water_off_h.estimate)} to {number(mean.off_h)}"
    return (
        f"A valve that shuts while the light fails would bring bad days from {days} a year, and hours "
        f"without water from {hours}."
    )
