"""A comparison in two or three plain sentences, each number with its uncertainty; what would change it."""

import math

from sim.plant import uv
from sim.scenario.train import Uv
from sim.study.compare.comparison import Comparison, PolicySummary
from sim.study.statistics.intervals import FEW_RUNS, Interval
from sim.study.wording import (
    bare,
    capital,
    counted,
    difference,
    from_to,
    listed,
    money,
    named,
    number,
    percent,
    plus_minus,
    towards,
)
from sim.units import text

_MOST_RUNS = 10_000  # a difference that takes more to settle is not worth settling
_MOST_NAMED = 3  # policies whose numbers are given in one sentence


TOLD_SHARE = 0.05  # of the days; rarer causes are left to the table
ORIGINS = {  # as they stand after "came"
    "power cut": "of power cuts",
    "lamp died": "of lamps that died",
    "service": "of work at the train",
    "unplugged unit": "of a unit left without its plug",
    "forgotten valve": "of a valve that stayed shut",
    "open bypass": "of a bypass that stayed open",
    "other missed step": "of other missed steps",
    "put off or late": "of tasks put off or late",
    "film": "of film on the sleeve",
    "lamp age": "of an old lamp",
    "coloured or dirty water": "of coloured or dirty water",
    "flow above rating": "of flow above the unit's rating",
    "cistern empty": "of an empty cistern",
    "clogged": "of clogged cartridges",
    "pump broken": "of a broken pump",
    "other": "of something else",
}


def sentences_of(
    comparison: Comparison, currency: str, asked: int | None = None, rating: str = ""
) -> list[str]:
    """Return the finding in a few sentences, the finding itself first.

    Parameters
    ----------
    currency : str
        Name of the money, such as "USD".
    rating : str
        What the UV rating was taken to mean, from `rating_sentence`.
    """
    if comparison.runs == 1:
        sentences = _one_run(comparison, currency)
    elif comparison.best is None:
        sentences = [_none_within(comparison), _people(comparison), _causes(comparison), _pumps(comparison)]
    else:
        sentences = [_main(comparison, currency), _people(comparison), _causes(comparison)]
        sentences += [_pumps(comparison), _others(comparison, currency)]
    sentences += [rating, _basis(comparison, asked)]
    return [sentence for sentence in sentences if sentence]


def rating_holds(unit: Uv) -> str:
    """Return at what state of the unit its rated dose holds, and what that comes to when new.

    Returns
    -------
    str
        Such as "holds at the alarm set point of 60 %: 66.7 mJ/cm2 when new and clean".
    """
    new_j_m2 = uv.new_dose_j_m2(unit.dose_at_rating_j_m2, unit.light_at_rating)
    set_point = f"at the alarm set point of {100 * unit.alarm:g} %"
    if unit.rated_at == "new":
        at_alarm = _dose(new_j_m2 * unit.alarm)
        return f"holds for a new lamp and a clean sleeve: {at_alarm} {set_point}"
    end = f"at the end of lamp life, with {100 * unit.output_at_end:g} % of the light"
    state = set_point if unit.rated_at == "alarm" else end
    return f"holds {state}: {_dose(new_j_m2)} when new and clean"


def rating_sentence(unit: Uv) -> str:
    """Return the sentence that says what the UV rating was taken to mean."""
    return f"As the site states it, the UV rating of {_dose(unit.dose_at_rating_j_m2)} {rating_holds(unit)}."


def _dose(dose_j_m2: float) -> str:
    return text(dose_j_m2, "dose", "si")  # people in either system speak of mJ/cm2


def what_would_change_this(comparison: Comparison, currency: str = "") -> list[str]:
    """Return what, by the numbers themselves, would change the finding.

    Parameters
    ----------
    currency : str
        Name of the money, such as "USD".
    """
    facts = [_rival(comparison, name, currency) for name in _by_gap(comparison)]
    facts += _limit_facts(comparison, currency)
    if len(comparison.summaries) > 1 and _no_days_at_all(comparison):
        facts.append("No policy had a day below the dose target in any run, so only cost tells them apart.")
    if comparison.runs == 1:
        facts.append(f"One run shows no spread; {FEW_RUNS} or more would.")
    elif comparison.runs < FEW_RUNS:
        facts.append(
            f"{comparison.runs} runs hardly show the spread; {FEW_RUNS} or more may move every number."
        )
    return facts


def _main(comparison: Comparison, currency: str) -> str:
    """Return how the cheapest stands to the reference, and its days below the dose target."""
    best = comparison.summary(str(comparison.best))
    days = _days_phrase(best, comparison)
    if best.policy != comparison.reference:
        gap = next(item.cost for item in comparison.differences if item.policy == best.policy)
        return f"{named(best.policy)} {_cost_phrase(gap, comparison.reference, currency)} and {days}."
    cost = f"{plus_minus(best.cost)} {money(currency).unit}"
    if len(comparison.summaries) == 1:
        return f"{named(best.policy)} costs {cost} and {days}."
    least = "has the least mean cost," if comparison.not_distinguishable else "costs the least,"
    rank = least if comparison.gaps else "is the only one within the limit, at"
    return f"{named(best.policy)}, the reference, {rank} {cost}, and {days}."


def _cost_phrase(gap: Interval, reference: str, currency: str) -> str:
    """Return how the yearly cost stands to that of the reference."""
    if gap.low == gap.high == 0:
        return f"costs the same as {named(reference)} in every run"
    return f"costs {difference(gap, money(currency), named(reference))}"


def _days_phrase(summary: PolicySummary, comparison: Comparison) -> str:
    """Return days below the dose target, with the share of runs or the bounds."""
    share = f"{summary.runs - summary.runs_with_days} of {summary.runs} runs"
    if summary.runs_with_days == 0:
        several = len(comparison.summaries) > 1 and _no_days_at_all(comparison)
        also = ", as does every policy" if several else ""
        most = percent(summary.share_upper_bound)
        return f"leaves no day below the dose target in {share} (at most {most} of all runs have one){also}"
    days = f"leaves {from_to(summary.days_below_target)} days a year below the dose target"
    return f"{days}, none in {share}" if summary.runs_with_days < summary.runs else days


def _pumps(comparison: Comparison) -> str:
    """Return how often the pump failed under the policy that is spoken of, and the hours without water."""
    shown = _spoken_of(comparison)
    if math.isnan(shown.pump_failures_per_year):
        return ""
    if shown.pump_failures_per_year == 0:
        return "No pump failed in these runs."
    hours = (
        f"{number(shown.pump_water_off_h)} of the {number(shown.water_off_h.estimate)} water-off hours a year"
    )
    return f"The pump failed {number(shown.pump_failures_per_year)} times a year, which took {hours}."


def _people(comparison: Comparison) -> str:
    """Return how many of the days below the dose target people caused, under the policy that is spoken of."""
    shown = _spoken_of(comparison)
    if shown.people_days is None or math.isnan(shown.people_share):
        return ""
    whole = f"the {number(shown.days_below_target.estimate)} days a year"
    if comparison.best is None and len(comparison.summaries) > 1:
        whole += f" under {named(shown.policy)}"
    if shown.people_days.estimate == 0:
        return f"People caused none of {whole}."
    part, share = number(shown.people_days.estimate), percent(shown.people_share)
    return f"People caused {part} of {whole} ({share}), by missing a step or doing a task late."


def _causes(comparison: Comparison) -> str:
    """Return what made most of the days below the dose target under the policy that is spoken of."""
    shown = _spoken_of(comparison)
    whole = shown.days_below_target.estimate
    main = [(name, days) for name, days in shown.causes.items() if days >= TOLD_SHARE * whole]
    if not main:
        return ""
    said = listed([f"{percent(days / whole)} {ORIGINS[name]}" for name, days in main])
    return f"Of these days under {named(shown.policy)} came {said}."


def _spoken_of(comparison: Comparison) -> PolicySummary:
    least = min(comparison.summaries, key=lambda item: item.days_below_target.estimate)
    return least if comparison.best is None else comparison.summary(comparison.best)


def _no_days_at_all(comparison: Comparison) -> bool:
    return all(item.runs_with_days == 0 for item in comparison.summaries)


def _others(comparison: Comparison, currency: str) -> str:
    """Return who may be as cheap, who is next, and who is not compared on cost."""
    said = []
    if comparison.not_distinguishable:
        said.append(f"its cost cannot be told from that of {_names(comparison.not_distinguishable)}")
    elif comparison.best == comparison.reference and comparison.gaps:
        after = _by_gap(comparison)[0]
        said.append(f"next is {named(after)}, {difference(comparison.gaps[after], money(currency))}")
    reasons = _left_out(comparison)
    if reasons:
        said.append(f"not compared on cost, because {'; because '.join(reasons)}")
    return capital("; ".join(said)) + "." if said else ""


def _left_out(comparison: Comparison) -> list[str]:
    """Return why policies are not compared on cost, each reason with its policies."""
    limit = f"the limit of {counted(comparison.limit_days_below_target, 'day')} a year"
    out = [item for item in comparison.summaries if not item.within_limit]
    over = [item for item in out if item.days_below_target.low > comparison.limit_days_below_target]
    dry = [item for item in comparison.summaries if item.within_limit and not item.keeps_water_on]
    told = len(out) <= _MOST_NAMED
    reasons = []
    if over:
        reasons.append(f"over {limit}: {listed([_with_days(item, told) for item in over])}")
    if unshown := [item for item in out if item not in over]:
        names = listed([_with_days(item, told) for item in unshown])
        reasons.append(f"not shown to keep within {limit if not over else 'it'}: {names}")
    if dry:
        hours = [f"{named(item.policy)} ({number(item.water_off_h.estimate)} h a year)" for item in dry]
        reasons.append(f"over the limit of water-off hours: {listed(hours)}")
    return reasons


def _with_days(summary: PolicySummary, told: bool) -> str:
    if not told:
        return named(summary.policy)
    days = summary.days_below_target
    return f"{named(summary.policy)} ({number(days.estimate)}, at most {number(days.high)})"


def _names(policies: tuple[str, ...] | list[str]) -> str:
    return listed([named(policy) for policy in policies])


def _limit(comparison: Comparison) -> str:
    return f"{counted(comparison.limit_days_below_target, 'day')} a year below the dose target"


def _none_within(comparison: Comparison) -> str:
    if any(item.within_limit for item in comparison.summaries):
        dry = min(comparison.summaries, key=lambda item: item.water_off_h.estimate)
        hours = number(dry.water_off_h.estimate)
        return (
            f"No policy keeps within both the limit of {_limit(comparison)} and that of water-off hours, so "
            f"costs are not compared. Fewest water-off hours: {named(dry.policy)}, {hours} a year."
        )
    no_runs = comparison.limit_days_below_target == 0
    shown = "No number of runs can show" if no_runs else "No policy is shown to keep within"
    least = min(item.days_below_target.estimate for item in comparison.summaries)
    fewest = [item for item in comparison.summaries if item.days_below_target.estimate == least]
    days = f"{from_to(fewest[0].days_below_target)} a year"
    affected = f"any in {fewest[0].runs_with_days} of {comparison.runs} runs"
    return (
        f"{shown} the limit of {_limit(comparison)}, so costs are not compared. "
        f"Fewest: {_names([item.policy for item in fewest])}, {days}, {affected}."
    )


def _one_run(comparison: Comparison, currency: str) -> list[str]:
    """Return what the one run gave, of the cheapest within the limit or else of that with the fewest days."""
    limit = comparison.limit_days_below_target
    within = [item for item in comparison.summaries if item.days_below_target.estimate <= limit]
    if within:
        shown = min(within, key=lambda item: item.cost.estimate)
    else:
        shown = min(comparison.summaries, key=lambda item: item.days_below_target.estimate)
    cost = f"{number(shown.cost.estimate)} {money(currency).unit}"
    if shown.policy != comparison.reference:
        gap = next(item.cost for item in comparison.differences if item.policy == shown.policy)
        cost = difference(gap, money(currency), named(comparison.reference))
    days = shown.days_below_target.estimate
    left = f"{number(days)} days a year" if days else "no day"
    return [
        "One run gives no bounds, and shows no policy to be the cheapest.",
        f"In it {named(shown.policy)} cost {cost} and left {left} below the dose target.",
    ]


def _basis(comparison: Comparison, asked: int | None) -> str:
    """Return what the numbers rest on."""
    length = f"of {counted(round(comparison.years, 1), 'year')}"
    stopped = asked is not None and asked > comparison.runs
    runs = f"{comparison.runs} of {asked} runs" if stopped else f"{comparison.runs} runs"
    if comparison.runs == 1:
        return f"The study was interrupted after {runs} {length}." if stopped else ""
    why = ", as the study was interrupted" if stopped else ""
    return f"Bounds hold at {percent(comparison.confidence)} confidence, from {runs} {length}{why}."


def _by_gap(comparison: Comparison) -> list[str]:
    """Return the other policies within the limit, cheapest first."""
    others = [name for name in comparison.gaps if name != comparison.best]
    return sorted(others, key=lambda name: comparison.gaps[name].estimate)


def _rival(comparison: Comparison, name: str, currency: str) -> str:
    """Return what it takes for another policy to be the cheapest."""
    gap, best = comparison.gaps[name], named(str(comparison.best))
    if gap.low > 0:
        unit = money(currency).unit
        return f"{named(name)} would have to become {plus_minus(gap)} {unit} cheaper to match {best}."
    if gap.estimate <= 0:
        return f"{named(name)} costs as much as {best}; choose between them by something else."
    text = f"{named(name)} may be the cheapest: it costs {difference(gap, money(currency), best)}"
    runs = math.ceil(comparison.runs * (gap.half_width / gap.estimate) ** 2)
    if runs > _MOST_RUNS:
        return f"{text}; it would take more than {_MOST_RUNS:,} runs to tell them apart."
    return f"{text}; about {number(runs)} runs in place of {comparison.runs} would tell them apart."


def _limit_facts(comparison: Comparison, currency: str) -> list[str]:
    """Return which limits of days below the dose target would let a policy in or put the cheapest out."""
    facts = []
    if comparison.best is not None:
        days = comparison.summary(comparison.best).days_below_target
        bound = towards(days.high, up=False)
        facts.append(f"With a limit under {bound} days a year, {named(comparison.best)} would be left out.")
        if days.reason:
            facts.append(f"For {named(comparison.best)}, {days.reason}.")
    for item in comparison.summaries:
        days = item.days_below_target
        if item.within_limit or not days.known or not item.keeps_water_on:
            continue
        text = (
            f"With a limit of {towards(days.high, up=True)} days a year, {named(item.policy)} would be let in"
        )
        if comparison.best is not None:
            text += f", which cost {_cost_beside(item, comparison.summary(comparison.best), currency)}"
        close = 0 < days.estimate <= comparison.limit_days_below_target
        facts.append(
            f"{text}; its mean is within the limit, so more runs might do it too." if close else f"{text}."
        )
    return facts


def _cost_beside(item: PolicySummary, best: PolicySummary, currency: str) -> str:
    gap = item.cost.estimate - best.cost.estimate
    return difference(bare(gap), money(currency), named(best.policy))
