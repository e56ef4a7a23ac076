"""Which policy is recommended: the cheapest of those as good in days as the best, once that can be told."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from sim.study.compare.measures import gap_in_days
from sim.study.compare.standing import ERROR, Sample, State, confidence_of_each
from sim.study.statistics.intervals import Interval, paired_interval, paired_skewed_interval

MOST_MORE_OFF_H = 10.0  # a year, that a policy may have more of and still stand in for another [A]
MOST_MORE_ALARM_H = 24.0  # [A]


@dataclass(frozen=True)
class Samples:
    """Yearly figures of every policy, one value per replication, in the same order."""

    days: Mapping[str, Sample]
    cost: Mapping[str, Sample]
    water_off_h: Mapping[str, Sample]
    alarm_h: Mapping[str, Sample]

    def first(self, runs: int) -> "Samples":
        """Return the figures of the first runs."""
        cut = [
            {name: sample[:runs] for name, sample in one.items()}
            for one in (self.days, self.cost, self.water_off_h, self.alarm_h)
        ]
        return Samples(*cut)


@dataclass(frozen=True)
class Margins:
    """What matters: days a year, and money a year."""

    days: float
    money: float


@dataclass(frozen=True)
class Choice:
    """What the runs say of the policies within the limits.

    Attributes
    ----------
    recommended : str or None
        Cheapest of the as good, where that can be told.
    either : tuple of str
        Those among which the runs do not choose, cheapest first; empty where one is recommended.
    as_good, worse, untold : tuple of str
        Policies within the limits by their days, beside the one with fewest.
    lead : mapping of str to Interval
        Yearly cost of the others as good less that of the recommended or first of `either` [money/year].
    settled : bool
        Whether more runs would change nothing.
    """

    recommended: str | None
    either: tuple[str, ...]
    as_good: tuple[str, ...]
    worse: tuple[str, ...]
    untold: tuple[str, ...]
    lead: Mapping[str, Interval]
    settled: bool


def choose(
    samples: Samples, states: Mapping[str, State], margins: Margins, looks: int, error: float = ERROR
) -> Choice:
    """Choose among the policies within the limits.

    Parameters
    ----------
    states : mapping of str to State
        How each policy stands to all limits.
    looks : int
        Looks planned; the error is shared over them and over the pairs of policies.
    """
    within = [name for name, state in states.items() if state == "within"]
    undecided = [name for name, state in states.items() if state == "undecided"]
    each = confidence_of_each(error, looks * max(1, len(states) - 1))
    if not within:
        return Choice(None, (), (), (), (), {}, not undecided)
    fewest = min(within, key=lambda name: float(np.mean(samples.days[name])))
    groups: dict[str, list[str]] = {"as good": [fewest], "worse": [], "untold": []}
    for name in within:
        if name != fewest:
            gap = gap_in_days(samples.days[name], samples.days[fewest], each)
            groups[_by_days(gap, margins.days)].append(name)
    cheapest = min(groups["as good"], key=lambda name: float(np.mean(samples.cost[name])))
    lead = {
        name: paired_interval(samples.cost[name], samples.cost[cheapest], each)
        for name in samples.cost
        if name != cheapest
    }
    close = [name for name in groups["as good"] if name != cheapest and not lead[name].low > 0]
    ties = [name for name in close if lead[name].known and lead[name].high <= margins.money]
    may_be_cheaper = [name for name in (*undecided, *groups["untold"]) if not lead[name].low > 0]
    # A cheaper one that stands at the limit is for the owner to weigh: more runs will not put it in or out.
    marginal = [name for name, state in states.items() if state == "at the limit" and not lead[name].low > 0]
    clear = not close and not may_be_cheaper and not marginal
    rivals = sorted({*close, *may_be_cheaper, *marginal}, key=lambda name: lead[name].estimate)
    return Choice(
        recommended=cheapest if clear else None,
        either=() if clear else (cheapest, *rivals),
        as_good=tuple(groups["as good"]),
        worse=tuple(groups["worse"]),
        untold=tuple(groups["untold"]),
        lead=lead,
        settled=not undecided and not may_be_cheaper and len(ties) == len(close),
    )


def _by_days(gap: Interval, margin: float) -> str:
    if gap.known and gap.high <= margin:
        return "as good"
    return "worse" if gap.known and gap.low > margin else "untold"


def dominated(
    samples: Samples, margins: Margins, candidates: Sequence[str], looks: int, error: float = ERROR
) -> dict[str, str]:
    """Return which policies have nothing over another, and over which.

    Notes
    -----
    Another stands in for a policy where it costs clearly no more, has not clearly more days than the margin,
    not more than 10 h a year of water off nor 24 h of alarm more, and is clearly better in one of the four.
    """
    each = confidence_of_each(error, looks * max(1, len(candidates) - 1))
    found: dict[str, str] = {}
    for name in candidates:
        for other in candidates:
            if other != name and other not in found and _stands_in(samples, other, name, margins, each):
                found[name] = other
                break
    return found


def _stands_in(samples: Samples, other: str, name: str, margins: Margins, confidence: float) -> bool:
    cost = paired_interval(samples.cost[other], samples.cost[name], confidence)
    days = gap_in_days(samples.days[other], samples.days[name], confidence)
    off = paired_skewed_interval(samples.water_off_h[other], samples.water_off_h[name], confidence)
    alarm = paired_skewed_interval(samples.alarm_h[other], samples.alarm_h[name], confidence)
    no_worse = (
        cost.high <= 0
        and not days.low > margins.days
        and off.high <= MOST_MORE_OFF_H
        and alarm.high <= MOST_MORE_ALARM_H
    )
    return no_worse and any(one.high < 0 for one in (cost, days, off, alarm))
