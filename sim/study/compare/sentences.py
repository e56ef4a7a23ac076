"""A comparison in two or three plain sentences, each number with its uncertainty; what would change it."""

import math
from collections.abc import Callable
from dataclasses import replace

from sim.plant import uv
from sim.scenario.train import Uv
from sim.study.compare.comparison import Comparison, PolicySummary
from sim.study.statistics.intervals import FEW_RUNS, Interval
from sim.units import text

MONEY_DECIMALS = 2  # no money is spoken of in less than a hundredth
DAYS_DECIMALS = 4
_NO_WIDTH = 1e-9  # relative half-width below which an interval is said to have none
_UNEVEN = 0.1  # by which bounds may lie apart unevenly, of the half-width, and still be told as one
_MOST_RUNS = 10_000  # a difference that takes more to settle is not worth settling


def three_digits(value: float, most_decimals: int = MONEY_DECIMALS) -> str:
    """Return a number to three digits that mean something, without an exponent.

    Examples
    --------
    >>> three_digits(12345.6), three_digits(85.04), three_digits(0.0721579, 4)
    ('12,300', '85.0', '0.0722')
    """
    if value == 0:
        return "0"
    return _rounded(value, min(_decimals(abs(value), 3), most_decimals))


def plus_minus(interval: Interval, most_decimals: int = MONEY_DECIMALS) -> str:
    """Return the size of an estimate with its half-width, or its bounds where they lie unevenly.

    Returns
    -------
    str
        Such as "85 ± 12" or "85 (75 to 104)", the half-width to two digits; only the estimate where there is
        no interval or it has no width.

    Examples
    --------
    >>> plus_minus(Interval(-85.2, -97.4, -73.0, 0.95, "paired Student t", 40))
    '85 ± 12'
    >>> plus_minus(Interval(-85.2, -104.0, -75.0, 0.95, "wider of two", 40))
    '85 (75 to 104)'
    """
    size, half = abs(interval.estimate), interval.half_width
    if not interval.known or half <= _NO_WIDTH * max(size, 1.0):
        return three_digits(size, most_decimals)
    if abs(interval.high + interval.low - 2 * interval.estimate) > _UNEVEN * half:
        low, high = sorted(
            math.copysign(1.0, interval.estimate) * end for end in (interval.low, interval.high)
        )
        return from_to(replace(interval, estimate=size, low=low, high=high), most_decimals)
    decimals = min(_decimals(half, 2), most_decimals)
    shown = _rounded(half, decimals)
    if float(shown.replace(",", "")) == 0:
        shown = f"less than {_rounded(10.0**-decimals, decimals)}"
    return f"{_rounded(size, decimals)} ± {shown}"


def from_to(interval: Interval, most_decimals: int = DAYS_DECIMALS) -> str:
    """Return an estimate with its bounds, for intervals that are not symmetric.

    Returns
    -------
    str
        Such as "3.2 (1.1 to 6.0)"; only the estimate where there is no interval or it has no width.

    Examples
    --------
    >>> from_to(Interval(3.21, 1.13, 5.98, 0.95, "BCa bootstrap", 40))
    '3.2 (1.1 to 6.0)'
    >>> from_to(Interval(60.0, 0.0, 366.0, 0.95, "BCa bootstrap", 4))
    '60 (0 to 366)'
    """
    if not interval.known or interval.half_width <= _NO_WIDTH * max(abs(interval.estimate), 1.0):
        return three_digits(interval.estimate, most_decimals)
    places = min(_decimals(interval.half_width, 2), most_decimals)
    if places < 0 and round(interval.high, places) > 1.01 * interval.high:  # 366 days a year are not 370
        places += 1
    values = (interval.estimate, interval.low, interval.high)
    shown = ["0" if value == 0 else _rounded(value, places) for value in values]
    return f"{shown[0]} ({shown[1]} to {shown[2]})"


def named(policy: str) -> str:
    """Return the name of a policy as it stands in a sentence.

    Returns
    -------
    str
        In quotation marks: names such as "as things fail" would else be read as part of the sentence.
    """
    return f"'{policy}'"


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
        sentences = [_none_within(comparison), _people(comparison), _pumps(comparison)]
    else:
        sentences = [_main(comparison, currency), _people(comparison), _pumps(comparison)]
        sentences.append(_others(comparison, currency))
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
    unit = f" {currency} a year" if currency else " a year"
    facts = [_rival(comparison, name, unit) for name in _by_gap(comparison)]
    facts += _limit_facts(comparison, unit)
    if len(comparison.summaries) > 1 and _no_days_at_all(comparison):
        facts.append("No policy had a day below the dose target in any run, so only cost tells them apart.")
    if comparison.runs == 1:
        facts.append(f"One run shows no spread; {FEW_RUNS} or more would.")
    elif comparison.runs < FEW_RUNS:
        facts.append(
            f"{comparison.runs} runs hardly show the spread; {FEW_RUNS} or more may move every interval."
        )
    return facts


def _main(comparison: Comparison, currency: str) -> str:
    """Return how the cheapest stands to the reference, and its days below the dose target."""
    best = comparison.summary(str(comparison.best))
    days = _days_phrase(best, comparison)
    if best.policy != comparison.reference:
        difference = next(item.cost for item in comparison.differences if item.policy == best.policy)
        return f"{named(best.policy)} {_cost_phrase(difference, comparison.reference, currency)} and {days}."
    cost = f"{plus_minus(best.cost)} {currency} a year"
    if len(comparison.summaries) == 1:
        return f"{named(best.policy)} costs {cost} and {days}."
    rank = "costs the least," if comparison.gaps else "is the only one within the limit, at"
    return f"{named(best.policy)}, the reference, {rank} {cost}, and {days}."


def _cost_phrase(difference: Interval, reference: str, currency: str) -> str:
    """Return how the yearly cost stands to that of the reference."""
    if difference.estimate == 0 and difference.half_width == 0:
        return f"costs the same as {named(reference)} in every run"
    amount = f"{plus_minus(difference)} {currency} a year {'less' if difference.estimate < 0 else 'more'}"
    if difference.low <= 0 <= difference.high:
        return f"costs about as much as {named(reference)} ({amount}, which may be no difference)"
    return f"costs {amount} than {named(reference)}"


def _days_phrase(summary: PolicySummary, comparison: Comparison) -> str:
    """Return days below the dose target, with the share of runs or the bounds."""
    share = f"{summary.runs - summary.runs_with_days} of {summary.runs} runs"
    if summary.runs_with_days == 0:
        percent = 100 * summary.share_upper_bound
        bound = f"upper bound {_rounded(percent, _decimals(percent, 2))} % of runs"
        also = (
            ", as does every policy" if len(comparison.summaries) > 1 and _no_days_at_all(comparison) else ""
        )
        return f"leaves no day below the dose target in {share} ({bound}){also}"
    days = f"leaves {from_to(summary.days_below_target)} days a year below the dose target"
    return f"{days}, none in {share}" if summary.runs_with_days < summary.runs else days


def _shown(comparison: Comparison) -> PolicySummary:
    """Return the policy that is spoken of: the choice, or else that with the fewest days."""
    if comparison.best is not None:
        return comparison.summary(comparison.best)
    return min(comparison.summaries, key=lambda item: item.days_below_target.estimate)


def _pumps(comparison: Comparison) -> str:
    """Return how often the pump failed under the policy that is spoken of, and the hours without water."""
    shown = _shown(comparison)
    if math.isnan(shown.pump_failures_per_year):
        return ""
    if shown.pump_failures_per_year == 0:
        return "No pump failed in these runs."
    often, hours, all_hours = (
        three_digits(value, DAYS_DECIMALS)
        for value in (shown.pump_failures_per_year, shown.pump_water_off_h, shown.water_off_h.estimate)
    )
    return (
        f"Its pump failed {often} times a year, which took {hours} of the {all_hours} water-off hours a year."
    )


def _people(comparison: Comparison) -> str:
    """Return how many of the days below the dose target people caused, under the policy that is spoken of."""
    shown = _shown(comparison)
    if shown.people_days is None or math.isnan(shown.people_share):
        return ""
    share = round(100 * shown.people_share)
    part = three_digits(shown.people_days.estimate, DAYS_DECIMALS)
    whole = three_digits(shown.days_below_target.estimate, DAYS_DECIMALS)
    if shown.people_days.estimate == 0:
        return f"None of the {whole} days a year were caused by people, by a step missed or a task put off."
    return (
        f"{part} of the {whole} days a year ({share} %) were caused by people: "
        "a step missed, or a task put off or late, bore on the dose."
    )


def _no_days_at_all(comparison: Comparison) -> bool:
    return all(item.runs_with_days == 0 for item in comparison.summaries)


def _others(comparison: Comparison, currency: str) -> str:
    """Return who may be as cheap, who is next, and who was left out before cost."""
    clauses = []
    if comparison.not_distinguishable:
        like = _listed([named(name) for name in comparison.not_distinguishable])
        clauses.append(f"these runs cannot tell its cost from that of {like}")
    elif comparison.best == comparison.reference and comparison.gaps:
        after = _by_gap(comparison)[0]
        clauses.append(f"next is {named(after)}, {plus_minus(comparison.gaps[after])} {currency} a year more")
    out = [item for item in comparison.summaries if not item.within_limit]
    if out:
        names = [f"{named(item.policy)}{_bound_phrase(item) if len(out) <= 3 else ''}" for item in out]
        clauses.append(f"left out before cost, for the limit of {_limit(comparison)}: {_listed(names)}")
    dry = [item for item in comparison.summaries if item.within_limit and not item.keeps_water_on]
    if dry:
        hours = [f"{named(item.policy)} ({three_digits(item.water_off_h.estimate)} h a year)" for item in dry]
        clauses.append(f"left out before cost, for leaving the taps dry: {_listed(hours)}")
    return _start("; ".join(clauses)) + "." if clauses else ""


def _bound_phrase(summary: PolicySummary) -> str:
    mean, bound = summary.days_below_target.estimate, summary.days_below_target.high
    return f" ({three_digits(mean, DAYS_DECIMALS)}, upper bound {three_digits(bound, DAYS_DECIMALS)})"


def _limit(comparison: Comparison) -> str:
    limit = comparison.limit_days_below_target
    return f"{limit:g} {'day' if limit == 1 else 'days'} a year below the dose target"


def _none_within(comparison: Comparison) -> str:
    if any(item.within_limit for item in comparison.summaries):
        dry = min(comparison.summaries, key=lambda item: item.water_off_h.estimate)
        hours = three_digits(dry.water_off_h.estimate)
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
        f"Fewest: {_listed([named(item.policy) for item in fewest])}, {days}, {affected}."
    )


def _one_run(comparison: Comparison, currency: str) -> list[str]:
    """Return what the one run gave, of the cheapest within the limit or else of that with the fewest days."""
    limit = comparison.limit_days_below_target
    within = [item for item in comparison.summaries if item.days_below_target.estimate <= limit]
    if within:
        shown = min(within, key=lambda item: item.cost.estimate)
    else:
        shown = min(comparison.summaries, key=lambda item: item.days_below_target.estimate)
    cost = f"{three_digits(shown.cost.estimate)} {currency} a year"
    if shown.policy != comparison.reference:
        less = comparison.summary(comparison.reference).cost.estimate - shown.cost.estimate
        side = "less" if less > 0 else "more"
        cost = f"{three_digits(abs(less))} {currency} a year {side} than {named(comparison.reference)}"
    days = three_digits(shown.days_below_target.estimate, DAYS_DECIMALS)
    seen = "no day" if days == "0" else f"{days} days a year"
    return [
        "One run: no interval can be given, and no policy is called the cheapest.",
        f"In it {named(shown.policy)} cost {cost} and left {seen} below the dose target.",
    ]


def _basis(comparison: Comparison, asked: int | None) -> str:
    """Return what the numbers rest on."""
    length = f"of {comparison.years:.3g} {'year' if comparison.years == 1 else 'years'}"
    stopped = asked is not None and asked > comparison.runs
    runs = f"{comparison.runs} of {asked} runs" if stopped else f"{comparison.runs} runs"
    if comparison.runs == 1:
        return f"The study was interrupted after {runs} {length}." if stopped else ""
    why = ", as the study was interrupted" if stopped else ""
    return f"Intervals are at {100 * comparison.confidence:g} % confidence, from {runs} {length}{why}."


def _by_gap(comparison: Comparison) -> list[str]:
    """Return the other policies within the limit, cheapest first."""
    others = [name for name in comparison.gaps if name != comparison.best]
    return sorted(others, key=lambda name: comparison.gaps[name].estimate)


def _rival(comparison: Comparison, name: str, unit: str) -> str:
    """Return what it takes for another policy to be the cheapest."""
    gap, best = comparison.gaps[name], named(str(comparison.best))
    if gap.low > 0:
        return f"{named(name)} would have to become {plus_minus(gap)}{unit} cheaper to match {best}."
    if gap.estimate <= 0:
        return f"{named(name)} costs as much as {best}; choose between them by something else."
    text = f"{named(name)} may be the cheapest, at {plus_minus(gap)}{unit} more than {best}"
    runs = math.ceil(comparison.runs * (gap.half_width / gap.estimate) ** 2)
    if runs > _MOST_RUNS:
        return f"{text}; it would take more than {_MOST_RUNS:,} runs to settle a difference this small."
    return f"{text}; about {runs:,} runs in place of {comparison.runs} would settle a difference this large."


def _limit_facts(comparison: Comparison, unit: str) -> list[str]:
    """Return which limits of days below the dose target would let a policy in or put the cheapest out."""
    facts = []
    if comparison.best is not None:
        days = comparison.summary(comparison.best).days_below_target
        bound = _towards(days.high, math.floor)
        facts.append(f"With a limit under {bound} days a year, {named(comparison.best)} would be left out.")
        if days.reason:
            facts.append(f"For {named(comparison.best)}, {days.reason}.")
    for item in comparison.summaries:
        days = item.days_below_target
        if item.within_limit or not days.known or not item.keeps_water_on:
            continue
        bound = _towards(days.high, math.ceil)
        text = f"With a limit of {bound} days a year, {named(item.policy)} would be let in"
        if comparison.best is not None:
            less = comparison.summary(comparison.best).cost.estimate - item.cost.estimate
            side = "less" if less > 0 else "more"
            text += f", which cost {three_digits(abs(less))}{unit} {side} than {named(comparison.best)}"
        close = 0 < days.estimate <= comparison.limit_days_below_target
        facts.append(
            f"{text}; its mean is within the limit, so more runs might do it too." if close else f"{text}."
        )
    return facts


def _towards(value: float, direction: Callable[[float], int]) -> str:
    """Return a bound to three digits, rounded to the side on which the sentence stays true."""
    if value == 0:
        return "0"
    places = _decimals(value, 3)
    return _rounded(direction(value * 10.0**places) / 10.0**places, places)


def _listed(names: list[str] | tuple[str, ...]) -> str:
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]


def _start(text: str) -> str:
    return text[:1].upper() + text[1:]


def _decimals(value: float, digits: int) -> int:
    """Return the decimals (negative: tens, hundreds) that show this many digits of a number above zero."""
    exponent = math.floor(math.log10(value))
    if round(value, digits - 1 - exponent) >= 10.0 ** (exponent + 1):
        exponent += 1
    return digits - 1 - exponent


def _rounded(value: float, decimals: int) -> str:
    return f"{round(value, decimals) + 0.0:,.{max(decimals, 0)}f}"
