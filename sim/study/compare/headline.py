"""The answer of a comparison in three sentences: what to do, what to expect, when the advice changes."""

import math

from sim.study.compare.causes_said import origins
from sim.study.compare.comparison import Comparison
from sim.study.compare.policy_summary import PolicySummary
from sim.study.compare.untold_words import (
    accepting,
    as_few_days,
    clearly_less,
    gap_in_cost,
    none_within,
    undecided,
    until_told,
)
from sim.study.first_few import few
from sim.study.wording import counted, given, listed, money, named, number, percent, towards

_HOURS_OF_YEAR = 8766.0
TOO_SMALL_SHARE = 0.02  # of draws above the rating of the UV unit: the unit is what is wrong [A]
_DRY_SHARE = 0.5  # of the hours of a year; a house without water for longer is out of use


def headline(comparison: Comparison, currency: str) -> list[str]:
    """Return what to do and what it costs, what to expect and why, and when the advice changes.

    Parameters
    ----------
    currency : str
        Name of the money, such as "USD".
    """
    return [_do(comparison, currency), _expect(comparison), _change(comparison, currency)]


def spoken_of(comparison: Comparison) -> PolicySummary:
    """Return the policy whose numbers are told: recommended, else first of those it lies between."""
    choice = comparison.choice
    if name := choice.recommended or (choice.either[0] if choice.either else None):
        return comparison.summary(name)
    open_ = [item for item in comparison.summaries if item.standing != "over"] or comparison.summaries
    return min(open_, key=lambda item: item.days_below_target.estimate)


def out_of_use(summary: PolicySummary) -> bool:
    """Whether taps give nothing for most of the time."""
    return summary.water_off_h.estimate > _DRY_SHARE * _HOURS_OF_YEAR


def _do(comparison: Comparison, currency: str) -> str:
    choice = comparison.choice
    if comparison.best is not None:
        cost = number(comparison.summary(comparison.best).cost.estimate)
        said = [f"Choose {named(comparison.best)}: about {cost} {money(currency).unit}"]
        said += _others(comparison, currency)
    elif choice.either:
        first = f"After {counted(comparison.runs, 'run')} it cannot be told"
        names = few([named(name) for name in choice.either], "or")
        marginal = [one for one in choice.either[1:] if comparison.summary(one).standing == "at the limit"]
        if choice.settled and marginal:
            said = [_at_the_limit(comparison, marginal[0])]
        elif choice.settled:
            matters = f"{given(comparison.margins.money)} {money(currency).unit}"
            said = [f"Choose {names} by something else than cost, which differs by less than {matters}"]
        elif undecided(comparison):
            said = until_told(comparison, currency)
        elif len(choice.either) > 1:
            said = [f"{first} yet whether to choose {names}", *clearly_less(comparison, currency)]
            said += as_few_days(comparison)
        else:
            said = [f"{first} yet whether {names} is the one to choose"]
        said += _over(comparison)
    else:
        said = [*none_within(comparison), *_over(comparison)]
    return ". ".join(said + _too_small(comparison)) + "."


def _at_the_limit(comparison: Comparison, name: str) -> str:
    """Return the choice between one that is within the limits and a cheaper one that stands at them."""
    kept, item = comparison.choice.either[0], comparison.summary(name)
    return (
        f"Choose {named(kept)} to be within this house's limits. {named(name)} may be cheaper and stands at "
        f"them, with {_days(item)}: more runs will not settle that, so weigh it yourself"
    )


def _too_small(comparison: Comparison) -> list[str]:
    """Return that the UV unit is too small for what is drawn, where it is."""
    share = max((item.over_uv_share for item in comparison.summaries), default=math.nan)
    if not share >= TOO_SMALL_SHARE:
        return []
    return [
        f"But see to the UV unit first: {percent(share)} of draws ask for more than it is rated for. Then "
        "film and lamp age count sooner, and clogged cartridges hide it by holding water back"
    ]


def _others(comparison: Comparison, currency: str) -> list[str]:
    """Return what the others cost more, or how they fall short."""
    choice, said = comparison.choice, []
    dearer = [name for name in choice.as_good if name != comparison.best]
    if dearer:
        shown = sorted(dearer, key=lambda name: choice.lead[name].estimate)
        first, *others = [(named(name), gap_in_cost(comparison, name)) for name in shown]
        more = f"{first[0]} costs {first[1]} {money(currency).unit} more"
        costs = few([more, *(f"{name} {cost}" for name, cost in others)], more=" still more")
        none = "none of them spares" if others else "does not spare"
        spare = counted(comparison.margins.days, "bad day")
        said.append(f"{costs}, and {none} you as much as {spare} a year")
    if choice.worse:
        worse = [f"{named(name)} ({_days(comparison.summary(name))})" for name in choice.worse]
        said.append(f"More bad days: {few(worse)}")
    return said + _untold(comparison) + _over(comparison)


def _untold(comparison: Comparison) -> list[str]:
    """Return what cannot be told of the policies that are neither recommended nor ruled out.

    Of those that cost more anyway it need not be told whether they have as few bad days.
    """
    undecided = [item.policy for item in comparison.summaries if item.standing == "undecided"]
    dearer, said = comparison.choice.untold, []
    if undecided:
        told = few([named(name) for name in undecided], "or")
        said.append(f"It cannot be told yet whether {told} keeps to this house's limit")
    if dearer:
        told = few([named(name) for name in dearer])
        costs = "cost" if len(dearer) > 1 else "costs"
        who = "they have" if len(dearer) > 1 else "it has"
        said.append(f"{told} {costs} more too; whether {who} as few bad days is left open")
    return said


def _over(comparison: Comparison) -> list[str]:
    over = [item for item in comparison.summaries if item.standing == "over"]
    if not over:
        return []
    shown = few([f"{named(item.policy)} ({_why_over(item)})" for item in over])
    if any(item.by_days.state != "over" for item in over):
        return [f"Over this house's limits: {shown}"]
    return [
        f"Over this house's limit of {counted(comparison.limit_days_below_target, 'bad day')} a year: {shown}"
    ]


def _why_over(item: PolicySummary) -> str:
    if out_of_use(item):
        share = percent(item.water_off_h.estimate / _HOURS_OF_YEAR)
        return f"out of use{_since(item)}: the taps give nothing for {share} of the time"
    if item.by_days.state != "over":
        off = item.by_off.state == "over"
        hours, of = (item.water_off_h, "without water") if off else (item.alarm_h, "of alarm")
        return f"{number(hours.estimate)} hours a year {of}"
    main = origins(item)[:1]
    return f"{_days(item)}, {main[0]}" if main else _days(item)


def _since(item: PolicySummary) -> str:
    month = item.unusable_from_month
    return "" if month is None else f" from about month {month:.0f}"


def _days(item: PolicySummary) -> str:
    return f"{number(item.days_below_target.estimate)} bad days a year"


def _expect(comparison: Comparison) -> str:
    item = spoken_of(comparison)
    if item.days_below_target.estimate == 0:
        said = f"With {named(item.policy)} no run had a bad day"
    else:
        said = f"Expect about {_days(item)} with {named(item.policy)}"
        if item.causes:
            said += f": {listed(origins(item))}"
    off = f"the water is off for {number(item.water_off_h.estimate)} hours"
    return f"{said}. {_alarm(item)}; {off}."


def _alarm(item: PolicySummary) -> str:
    alarm_h, dark_h = item.alarm_h.estimate, item.low_light_h
    said = f"The alarm sounds {number(alarm_h)} hours a year"
    if math.isnan(dark_h):
        return said
    if dark_h < 0.5 * alarm_h:  # even if it sounds in all of them
        return f"{said}, mostly while there is light enough; {number(dark_h)} hours have too little"
    return f"{said}; {number(dark_h)} hours have too little light"


def _change(comparison: Comparison, currency: str) -> str:
    said = []
    if comparison.best is not None:
        said += _price_of_alarm(comparison, currency)
        said.append(_stricter(comparison, currency))
    else:
        said += accepting(comparison)
        said += [
            f"If you allow {towards(item.by_days.interval.high, up=True)} bad days a year, "
            f"{named(item.policy)} keeps to it"
            for item in [spoken_of(comparison)]
            if item.by_days.interval.known and item.by_days.state != "within"
        ]
    return ". ".join(said) + "." if said else "More runs may change this answer."


def _stricter(comparison: Comparison, currency: str) -> str:
    """Return which limit of days the recommended is shown to keep to, and which other keeps to less."""
    best = comparison.summary(str(comparison.best))
    high = best.by_days.interval.high
    said = f"These runs show that {named(best.policy)} keeps to {towards(high, up=True)} bad days a year"
    others = [item for item in comparison.summaries if item is not best and item.standing == "within"]
    if not others:
        return said
    item = min(others, key=lambda one: one.by_days.interval.high)
    least, more = towards(item.by_days.interval.high, up=True), comparison.choice.lead[item.policy]
    if item.by_days.interval.high >= high:
        return f"{said}; no other way is shown to keep to less"
    if least == towards(high, up=True) or not more.low > 0.0:
        return said
    cost = f"{gap_in_cost(comparison, item.policy)} {money(currency).unit} more"
    return f"{said}. If you allow less, {named(item.policy)} keeps to {least}, for {cost}"


def _price_of_alarm(comparison: Comparison, currency: str) -> list[str]:
    """Return from what worth of an hour of alarm a dearer policy, as good in days, is the better one."""
    best = comparison.summary(str(comparison.best))
    found = []
    for name in (*comparison.choice.as_good, *comparison.choice.untold):
        item = comparison.summary(name)
        spared = best.alarm_h.estimate - item.alarm_h.estimate
        dearer = item.cost.estimate - best.cost.estimate
        if name not in comparison.dominated and spared > 0 and dearer > 0:
            found.append((dearer / spared, item))
    if not found:
        return []
    price, item = min(found, key=lambda one: one[0])
    unit = f"{number(price)} {currency}".strip()
    hours = f"{number(item.alarm_h.estimate)} hours a year, against {number(best.alarm_h.estimate)}"
    return [f"Choose {named(item.policy)} if you would pay {unit} to be spared an hour of alarm ({hours})"]
