"""What a comparison says where it cannot be told which policy to choose, or whether one keeps to a limit."""

import math
from typing import NamedTuple

from sim.study.compare.comparison import Comparison
from sim.study.compare.policy_summary import PolicySummary
from sim.study.first_few import MOST_NAMED, few
from sim.study.statistics.intervals import Interval
from sim.study.wording import counted, listed, money, named, number, towards


class Kind(NamedTuple):
    """What a limit is of, in words."""

    one: str
    many: str
    of: str


KINDS = (  # in the order of the limits
    Kind("bad day", "bad days", ""),
    Kind("hour", "hours", " without water"),
    Kind("hour", "hours", " of alarm"),
)


def undecided(comparison: Comparison) -> list[PolicySummary]:
    """Return those that may stand in for the first, were it told whether they keep to the limits."""
    rivals = [comparison.summary(name) for name in comparison.choice.either[1:]]
    return [item for item in rivals if item.standing == "undecided"]


def until_told(comparison: Comparison, currency: str) -> list[str]:
    """Return which is shown to keep to the limits, which others cost less, and what is open of these."""
    kept = comparison.summary(comparison.choice.either[0])
    cost = f"{number(kept.cost.estimate)} {money(currency).unit}"
    limits = f"this house's limits of {_limits(comparison)}"
    return [
        f"Choose {named(kept.policy)} to be within {limits}: about {cost}",
        *clearly_less(comparison, currency),
        *_not_yet(comparison, undecided(comparison)),
    ]


def _limits(comparison: Comparison) -> str:
    set_ = [
        f"{counted(limit, kind.one)}{kind.of}"
        for kind, limit in zip(KINDS, comparison.limits, strict=True)
        if math.isfinite(limit)
    ]
    return f"{listed(set_)} a year"


def gap_in_cost(comparison: Comparison, name: str) -> str:
    """Return how far the cost of a policy is from the one named; of the costs as printed, where whole."""
    choice = comparison.choice
    base = comparison.summary(choice.recommended or choice.either[0]).cost.estimate
    gap, other = choice.lead[name].estimate, comparison.summary(name).cost.estimate
    whole = all(number(one) == f"{one:.0f}" for one in (abs(gap), base, other))
    return number(abs(round(other) - round(base)) if whole else abs(gap))


def clearly_less(comparison: Comparison, currency: str) -> list[str]:
    """Return which of those that may be chosen clearly cost less than the first."""
    lead, (_, *rivals) = comparison.choice.lead, comparison.choice.either
    clear, unit = [name for name in rivals if lead[name].high < 0.0], money(currency).unit
    said = [f"{named(one)} costs {gap_in_cost(comparison, one)} {unit} less" for one in clear[:MOST_NAMED]]
    left = len(clear) - MOST_NAMED
    others = f"{counted(left, 'other')} {'costs' if left == 1 else 'cost'} less too"
    return [*said, *([others] if left > 0 else [])]


def as_few_days(comparison: Comparison) -> list[str]:
    """Return of which of those that may be chosen it is open whether they have as few bad days."""
    names = [name for name in comparison.choice.either if name in comparison.choice.untold]
    said = few([named(one) for one in names], "or")
    return [f"It is open whether {said} has as few bad days"] if names else []


def accepting(comparison: Comparison) -> list[str]:
    """Return from which limits on one that costs less, and may keep to those set, can be chosen."""
    for item in undecided(comparison):
        open_ = [
            f"{towards(one.interval.high, up=True)} {kind.many} a year{kind.of}"
            for one, kind in zip(item.stands, KINDS, strict=True)
            if one.state == "undecided" and one.interval.known
        ]
        if open_ and comparison.choice.lead[item.policy].high < 0.0:
            return [f"Choose {named(item.policy)} if you accept {listed(open_)}"]
    return []


def none_within(comparison: Comparison) -> list[str]:
    """Return how those stand that are neither within nor over, the first of each kind."""
    said = []
    states = {item.policy: item for item in comparison.summaries}
    marginal = [item for item in states.values() if item.standing == "at the limit"]
    untold = [item for item in states.values() if item.standing == "undecided"]
    if marginal:
        item = min(marginal, key=lambda one: one.cost.estimate)
        at, kind = next(
            both for both in zip(item.stands, KINDS, strict=True) if both[0].state == "at the limit"
        )
        shown, what = at.interval, f"{kind.many} a year{kind.of}"
        said.append(
            f"{named(item.policy)} stands at this house's limit: {number(shown.estimate)} {what}, give or "
            f"take {number(shown.half_width)}. More runs will not settle that; decide by something else"
        )
    if untold:
        said += _not_yet(comparison, untold)
    return said or ["No way keeps to this house's limits; costs are not compared"]


def _not_yet(comparison: Comparison, untold: list[PolicySummary]) -> list[str]:
    """Return of which limit it cannot be told yet whether it is kept, and between what it lies."""
    runs = counted(comparison.runs, "run")
    return [f"After {runs} it cannot be told yet whether {one}" for one in _open(comparison, untold)]


def _open(comparison: Comparison, untold: list[PolicySummary]) -> list[str]:
    said = []
    for at, (kind, limit) in enumerate(zip(KINDS, comparison.limits, strict=True)):
        those = [item for item in untold if item.stands[at].state == "undecided"]
        if not those:
            continue
        names = few([named(item.policy) for item in those], "or")
        low, high = _span(min((item.stands[at].interval for item in those), key=lambda one: one.estimate))
        least = " for the one with fewest" if len(those) > 1 else ""
        between = f": it lies between {low} and {high}{least}" if low else ""
        kept = f"{counted(limit, kind.one)} a year{kind.of}"
        said.append(f"{names} keeps to {kept}{between}")
    return said


def _span(shown: Interval) -> tuple[str, str]:
    if not shown.known:
        return "", ""
    return towards(max(shown.low, 0.0), up=False), towards(shown.high, up=True)
