"""When the advice changes: the policies in houses that differ in one thing, on the same chances."""

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import pandas as pd

from sim.constants import DAY_S
from sim.scenario.care import Goals
from sim.scenario.scenario import Scenario
from sim.study.compare.comparison import Comparison
from sim.study.compare.measures import counted_days
from sim.study.compare.untold_words import KINDS
from sim.study.runs.request import Request
from sim.study.wording import counted, given, named, number
from sim.units import shown

RUNS = 6  # of each house: enough for means with known chances in place of what was met
FLOW_SHARES = (0.75, 0.5)  # of the rated flow of the UV unit
WAITS_S = (7.0 * DAY_S, 14.0 * DAY_S)  # mean, until someone answers an alarm
VALVE = "valve"


class _Mean(NamedTuple):
    """Of one policy, a year."""

    days: float
    cost: float
    off_h: float
    alarm_h: float


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
    scenario: Scenario, comparison: Comparison, run: Callable[[Sequence[Request]], pd.DataFrame]
) -> tuple[str, ...]:
    """Return what would change the advice, and what would take bad days away.

    Parameters
    ----------
    run : callable
        Runs policies, numbered as they are compared, in `other_houses`; returns the rows with the number of
        the house in `design`.
    """
    if comparison.best is None:
        return ()
    runs = _Runs(run, [item.policy for item in comparison.summaries], comparison)
    return tuple(_sentences(other_houses(scenario), runs, comparison, scenario))


@dataclass
class _Runs:
    """Runs houses and holds their means."""

    run: Callable[[Sequence[Request]], pd.DataFrame]
    names: list[str]
    comparison: Comparison

    def means(self, houses: Sequence[int], with_best: Sequence[int] = ()) -> dict[int, _Means]:
        """Return the means in houses of all that are not over a limit in this one, in others of the best."""
        over = {item.policy for item in self.comparison.summaries if item.standing == "over"}
        everyone = tuple(at for at, name in enumerate(self.names) if name not in over)
        best = (self.names.index(str(self.comparison.best)),)
        asked = [(everyone, houses), (best, with_best)]
        requests = [Request(at, chosen, 0, RUNS) for chosen, those in asked for at in those]
        rows = self.run(requests) if requests else pd.DataFrame()
        return {one.design: _means(rows[rows["design"] == one.design]) for one in requests}


def _sentences(
    houses: Sequence[OtherHouse], runs: _Runs, comparison: Comparison, scenario: Scenario
) -> Iterator[str]:
    """Look at the last step of each kind first: where the advice stays there, that is what is said."""
    best, goals, steps = str(comparison.best), scenario.goals, defaultdict[str, list[int]](list)
    for at, house in enumerate(houses):
        steps[house.kind].append(at)
    valve = steps.pop(VALVE, [])
    found = runs.means([one[-1] for one in steps.values()], valve)
    turned = [one for one in steps.values() if _advised(found[one[-1]], goals) != best]
    found |= runs.means([at for one in turned for at in one[:-1]])
    for one in turned:
        at = next(at for at in one if _advised(found[at], goals) != best)
        yield _turned(houses[at].said, found[at], best, scenario)
    steady = [houses[one[-1]].said for one in steps.values() if one not in turned]
    if steady:
        first, *others = steady
        rest = "".join(f", or {said[0].lower()}{said[1:]}" for said in others)
        yield f"{first}{rest}, {named(best)} stays the advice."
    for at in valve:
        yield _with_valve(found[at][best], comparison)


def _means(rows: pd.DataFrame) -> _Means:
    """Return means a year by policy."""
    return {
        str(name): _Mean(
            float(counted_days(group).mean()),
            *(float(group[one].mean()) for one in ("cost", "water_off_h", "alarm_h")),
        )
        for name, group in rows.groupby("policy", sort=False)
    }


def _advised(means: _Means, goals: Goals) -> str | None:
    """Return the cheapest, by means, of those within the limits and as good in days as the best of them."""
    kept = {name: one for name, one in means.items() if goals.kept(one.days, one.off_h, one.alarm_h)}
    fewest = min((one.days for one in kept.values()), default=0.0)
    good = [name for name, one in kept.items() if one.days <= fewest + goals.days_that_matter]
    return min(good, key=lambda name: kept[name].cost, default=None)


def _turned(begins: str, means: _Means, best: str, scenario: Scenario) -> str:
    """Return why the advised way would not be the choice in another house, and which would."""
    mean, name = means[best], _advised(means, scenario.goals)
    start, (measure, said) = f"{begins}, {named(best)} would", _over(mean, scenario.goals)
    if name is None:
        return f"{start} {said}, and no way would keep to its limits."
    other = means[name]
    if not measure and mean.cost > other.cost:
        measure, said = "cost", f"cost {number(mean.cost)} {scenario.prices.currency} a year"
    elif not measure:
        measure, said = "days", f"have {number(mean.days)} bad days a year"
    has = number(getattr(other, measure))
    return f"{start} {said}: by {RUNS} runs the choice would be {named(name)} ({has})."


def _over(mean: _Mean, goals: Goals) -> tuple[str, str]:
    """Return the first mean over its limit, by name and in words; both empty where none is."""
    limits = (goals.limit_days_below_target, goals.limit_water_off_h, goals.most_alarm_h)
    for name, kind, limit in zip(("days", "off_h", "alarm_h"), KINDS, limits, strict=True):
        value = float(getattr(mean, name))
        if value > limit:
            said = f"have {number(value)} {kind.many}{kind.of} a year"
            return name, f"{said}, over this house's limit of {given(limit)}"
    return "", ""


def _with_valve(mean: _Mean, comparison: Comparison) -> str:
    best = comparison.summary(str(comparison.best))
    days = f"{number(best.days_below_target.estimate)} to {number(max(mean.days, 0.0))}"
    hours = f"{number(best.water_off_h.estimate)} to {number(mean.off_h)}"
    return (
        f"A valve that shuts while the light fails would bring bad days from {days} a year, and hours "
        f"without water from {hours}."
    )
