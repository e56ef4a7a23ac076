"""The answer of a search over intervals in sentences: the choice, flat part and cliff, what flips it."""

from collections.abc import Iterator

from sim.study.size.size_words import flip_line, limits_said
from sim.study.tune.curves import Curve
from sim.study.tune.settings_grid import NOW, Point, changed_words
from sim.study.tune.tune import TuneStudy
from sim.study.wording import bare, capital, difference, given, mean_seen, money, named, plus_minus
from sim.units import Units

HARD_HOUSE = "in a house that fouls faster than nine in ten"


def tune_sentences(study: TuneStudy, currency: str, units: Units) -> list[str]:
    """Return the sentences of the answer, the recommended setting first."""
    limits, name = limits_said(study.limits), named(study.policy.name)
    how_near = f"or within {given(study.worth)} {currency} a year of it" if study.settled else "so far"
    if study.chosen is None or study.cost is None or study.days is None:
        said = [
            f"No setting of {name} that was run was shown to keep within {limits}, so none is recommended."
        ]
    else:
        said = [
            f"{study.outlasted} The cheapest setting of {name} within {limits}, {how_near}: "
            f"{setting(study, study.chosen, units)}.".lstrip(),
            f"In fresh runs that costs {plus_minus(study.cost)} {currency} a year, with "
            f"{mean_seen(study.days)} days a year below the dose target; {_beside_now(study, currency)}.",
            *robust_lines(study, currency, units),
            "" if study.other is None else flip_line(study.movers, _in_place(study, units)),
        ]
    said.append(
        "No interval was tried that is longer than its cartridge or lamp is stated to last, unless today's "
        "is."
    )
    if study.settled:
        said.append(
            f"If one finalist within the limits is cheaper than the others by {given(study.worth)} "
            f"{currency} a year or more, this search picks it with a probability of at least 95 % (for "
            "normal means); that the finalists hold the best of all settings is not promised."
        )
    else:
        said.append("The runs did not settle it between the finalists; more runs would.")
    return [sentence for sentence in said if sentence]


def setting(study: TuneStudy, point: Point, units: Units) -> str:
    """Return a point as people read it: what differs from today's setting."""
    return changed_words(study.found, point, units)


def curve_line(curve: Curve, study: TuneStudy, currency: str, units: Units) -> str:
    """Return the flat part of a dial and the cliff on either side."""
    first, last = curve.flat
    dial = curve.dial
    span = dial.said(first, units)
    if last > first:
        span = f"{span} to {dial.said(last, units)}"
    worth = f"{given(study.worth)} {currency} a year"
    said = f"{dial.name}: {span} is the flat part, within {worth} of the best"
    if last == len(dial.levels) - 1 > 0:
        most = "longest" if dial.field.endswith("_s") else "most"
        said += f", {'up to' if last > first else 'and'} the {most} that was tried"
    beyond = [_beyond(curve, study, at, currency, units) for at in (first - 1, last + 1)]
    return "; ".join([said, *filter(None, beyond)]) + "."


def robust_lines(study: TuneStudy, currency: str, units: Units) -> Iterator[str]:
    """Yield what holds in a house that fouls as the upper tenth does."""
    if not study.hard:
        return
    choice = study.hard[0]
    days = f"{mean_seen(choice.days)} days a year below the dose target"
    start = capital(HARD_HOUSE)
    if choice.holds:
        yield f"{start} it holds too, with {days}."
        return
    over = choice.days.estimate > study.limits.days_below_target
    said = f"{start} it {'does not hold' if over else 'was not shown to hold'}, with {days}"
    holding = next((line for line in study.hard if line.point == study.robust), None)
    if holding is None:
        yield f"{said}, nor {'does' if over else 'was'} any tighter setting that was run."
        return
    gap = bare(holding.cost.estimate - choice.cost.estimate)
    yield (
        f"{said}; the cheapest that {'does' if over else 'was shown to'} is {holding.name}: "
        f"{setting(study, holding.point, units)}. In the house as it is that cost "
        f"{difference(gap, money(currency), 'the choice')}."
    )


def _in_place(study: TuneStudy, units: Units) -> str:
    """Return what the next best has otherwise than the choice."""
    assert study.chosen is not None and study.other is not None
    return ", ".join(
        f"{dial.name} at {dial.said(other, units)} in place of {dial.said(chosen, units)}"
        for dial, chosen, other in zip(study.found, study.chosen, study.other, strict=True)
        if chosen != other
    )


def _beside_now(study: TuneStudy, currency: str) -> str:
    if study.gap is None:
        return f"it is {NOW}"
    return f"it costs {difference(study.gap, money(currency), NOW, study.worth)}"


def _beyond(curve: Curve, study: TuneStudy, at: int, currency: str, units: Units) -> str:
    """Return what happens one level past the flat part."""
    if not 0 <= at < len(curve.dial.levels):
        return ""
    days, cost = curve.days[at], curve.cost[at]
    where = f"at {curve.dial.said(at, units)}"
    if curve.over[at]:
        return f"{where} days below the dose target reach {mean_seen(days)} a year: the cliff"
    if cost.estimate > study.worth:
        return f"{where} it costs {difference(cost, money(currency))}"
    return f"{where} water is off for longer than the limit"
