"""The answer of a search over intervals in sentences: the choice, flat part and cliff, what flips it."""

from collections.abc import Iterator

from sim.study.compare.sentences import plus_minus, three_digits
from sim.study.size.size_words import bounded, flip_line
from sim.study.statistics.intervals import Interval
from sim.study.tune.settings_grid import Point
from sim.study.tune.tune import Curve, TuneStudy
from sim.units import Units


def tune_sentences(study: TuneStudy, currency: str, units: Units) -> list[str]:
    """Return the sentences of the answer, the advised setting first."""
    limit = f"{study.limits.days_below_target:g} days below the dose target a year"
    if study.chosen is None or study.cost is None or study.days is None:
        said = [
            f"No setting of {study.policy.name!r} that was run was shown to keep within {limit} and "
            f"{study.limits.water_off_h:g} water-off hours, so none is advised."
        ]
    else:
        said = [
            f"Least cost of {study.policy.name!r} within {limit}: {setting(study, study.chosen, units)}.",
            f"In fresh runs that costs {plus_minus(study.cost)} {currency} a year, with "
            f"{bounded(study.days)} such days"
            + (f"; {_against(study.gap, currency)}." if study.gap is not None else "; it is as it stands."),
            *robust_lines(study, currency, units),
            "" if study.other is None else flip_line(study.movers, _in_place(study, units)),
        ]
    if study.settled:
        said.append(
            f"Of the finalists one that is cheaper by {three_digits(study.worth)} {currency} a year within "
            "the limits is picked with a probability of at least 95 % (normal means); that the finalists "
            "hold the best of all settings is not promised."
        )
    else:
        said.append("The runs did not settle it between the finalists; more runs would.")
    return [sentence for sentence in said if sentence]


def setting(study: TuneStudy, point: Point, units: Units) -> str:
    """Return a point as people read it: what differs from the policy as it stands."""
    changed = [
        f"{dial.name} at {dial.said(level, units)} (now {dial.said(dial.own, units)})"
        for dial, level in zip(study.found, point, strict=True)
        if level != dial.own
    ]
    return ", ".join(changed) if changed else "as it stands"


def curve_line(curve: Curve, study: TuneStudy, currency: str, units: Units) -> str:
    """Return the flat part of a dial and the cliff on either side."""
    first, last = curve.flat
    dial = curve.dial
    span = dial.said(first, units)
    if last > first:
        span = f"{span} to {dial.said(last, units)}"
    worth = f"{three_digits(study.worth)} {currency} a year"
    said = f"{dial.name}: {span} is the flat part, within {worth} of the best"
    longest = last == len(dial.levels) - 1 > first
    if longest:
        said += ", up to the " + ("longest" if dial.field.endswith("_s") else "most") + " that was tried"
    edges = [_edge(curve, study, at, currency, units) for at in (first - 1, last + 1)]
    return "; ".join([said, *filter(None, edges)]) + "."


def robust_lines(study: TuneStudy, currency: str, units: Units) -> Iterator[str]:
    """Yield what holds in a house that fouls as the upper tenth does."""
    if not study.hard:
        return
    choice = study.hard[0]
    days = f"{bounded(choice.days)} days below the dose target"
    start = "Where dust and films come as fast as in the upper tenth of houses"
    if choice.holds:
        yield f"{start} it holds too, with {days}."
        return
    over = choice.days.estimate > study.limits.days_below_target
    said = f"{start} it {'does not hold' if over else 'was not shown to hold'}, with {days}"
    holding = next((line for line in study.hard if line.point == study.robust), None)
    if holding is None:
        yield f"{said}, nor {'does' if over else 'was'} any tighter setting that was run."
        return
    more = holding.cost.estimate - choice.cost.estimate
    yield (
        f"{said}; the cheapest that {'does' if over else 'was shown to'} is {holding.name}: "
        f"{setting(study, holding.point, units)}, {three_digits(abs(more))} {currency} a year "
        f"{'more' if more >= 0 else 'less'} in the house as it is."
    )


def _in_place(study: TuneStudy, units: Units) -> str:
    """Return what the next best has otherwise than the choice."""
    assert study.chosen is not None and study.other is not None
    return ", ".join(
        f"{dial.name} at {dial.said(other, units)} in place of {dial.said(chosen, units)}"
        for dial, chosen, other in zip(study.found, study.chosen, study.other, strict=True)
        if chosen != other
    )


def _against(gap: Interval, currency: str) -> str:
    said = f"{plus_minus(gap)} {currency} a year {'less' if gap.estimate < 0 else 'more'} than as it stands"
    return f"{said}, which may be no difference" if gap.low <= 0 <= gap.high else said


def _edge(curve: Curve, study: TuneStudy, at: int, currency: str, units: Units) -> str:
    """Return what happens one level past the flat part."""
    if not 0 <= at < len(curve.dial.levels):
        return ""
    days, cost = curve.days[at], curve.cost[at]
    where = f"at {curve.dial.said(at, units)}"
    if curve.over[at]:
        return f"{where} days below the dose target reach {bounded(days)}: the cliff"
    if cost.estimate > study.worth:
        return f"{where} it costs {plus_minus(cost)} {currency} a year more"
    return f"{where} water is off for longer than the limit"
