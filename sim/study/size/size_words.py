"""The answer of a search over sizes in sentences, each number with its uncertainty."""

import math
from collections.abc import Iterator
from dataclasses import replace

import pandas as pd

from sim.study.search.catalogue import invented
from sim.study.search.describe import CONFIDENCE, Step
from sim.study.search.limits import Limits
from sim.study.search.pool import DAYS_COUNTED, SPENT
from sim.study.search.search import OVER, TIE, UNSHOWN, Found
from sim.study.search.sensitivity import Mover
from sim.study.size.paper import paper_sentences
from sim.study.size.sizes import SizeStudy
from sim.study.statistics.intervals import Interval
from sim.study.wording import (
    DAYS,
    Words,
    capital,
    counted,
    difference,
    either,
    from_to,
    given,
    listed,
    money,
    number,
    percent,
    plus_minus,
)
from sim.units import SHOWN, Units, from_si, text

MOST_MOVERS, MOST_UNSURE, MOST_TIES = 6, 4, 4
DRY = Words("dry days a year", "fewer", "as many")
LIFE = Words("days", "shorter", "as long", "longer")


def size_sentences(study: SizeStudy, currency: str, units: Units = "us") -> list[str]:
    """Return the sentences of the answer, the choice first."""
    found = study.found
    said = [_none(study, units)] if found.chosen is None else list(_choice(study, currency))
    said += [*paper_sentences(study.paper), put_out_line(study), *study.lacking]
    said += [guarantee(found, currency), saved(found, study.described), invented(study.pieces)]
    return [sentence for sentence in said if sentence]


def guarantee(found: Found, currency: str) -> str:
    """Return what the procedure promises, or that it could not end by its own rule."""
    sure = percent(1 - found.error)
    worth = f"{given(found.worth)} {currency} a year"
    if found.chosen is not None and len(found.fates) == 1:
        return ""  # nothing to choose between
    if found.settled and found.chosen is not None:
        return (
            f"If one design within the limits is cheaper than the others by {worth} or more, this search "
            f"picks it with a probability of at least {sure} (for normal means)."
        )
    if found.chosen is None:
        return f"The limits are judged at {sure} for all designs together."
    return (
        f"The runs did not settle it to {worth} at {sure}: some may be as good or better. More "
        "runs, or a greater least difference that matters, would."
    )


def saved(found: Found, described: int) -> str:
    """Return how many runs it took, beside the full grid."""
    if found.full:
        return f"Every design had every replication: {counted(found.searched, 'run')}."
    share = 1 - found.searched / found.grid
    less = f"{percent(share)} fewer than" if share > 0 else "as many as" if share == 0 else "more than"
    return (
        f"The search took {counted(found.searched, 'run')}, {less} the {found.grid:,} of the full grid, and "
        f"{described:,} more described the choice in fresh weather."
    )


def put_out_line(study: SizeStudy) -> str:
    """Return which limit put out how many in the runs; empty when none did."""
    found = study.found
    over = sum(fate == OVER for fate in found.fates.values())
    if not over:
        return ""
    reasons = listed([f"{count} on {name}" for name, count in study.over.items()])
    tried, designs = len(found.fates), len({arm.design for arm in found.fates})
    pairs = f"{tried:,} pairs of a design and a way of looking after it"
    what = counted(tried, "design") if tried == designs else pairs
    return f"Limits put out {over} of {what} in the runs: {reasons}."


def limits_said(limits: Limits, units: Units = "us") -> str:
    """Return the limits in words."""
    said = [f"{counted(limits.days_below_target, 'day')} below the dose target"]
    if math.isfinite(limits.water_off_h):
        said.append(counted(limits.water_off_h, "water-off hour"))
    if math.isfinite(limits.alarm_h):
        said.append(counted(limits.alarm_h, "hour of alarm", "hours of alarm"))
    if math.isfinite(limits.tap_pa):
        tap = text(limits.tap_pa, "pressure", units)
        return f"{listed(said)} a year, and {tap} at the tap in 19 of 20 draws"
    return f"{listed(said)} a year"


def rival_line(study: SizeStudy, currency: str) -> str:
    """Return how the choice stands to its rival, in runs no choice was made by.

    Returns
    -------
    str
        A sentence; empty when there is no rival.
    """
    found, gap = study.found, study.gap
    if gap is None or found.rival is None:
        return ""
    name = study.labels[found.rival]
    if found.fates.get(found.rival) == UNSHOWN:  # it may be cheaper, and is not the choice for that reason
        name += ", not shown to keep within the limits"
    seen = "in fresh runs " if not found.full else ""
    cost = difference(gap, money(currency), matters=found.worth)
    either_will_do = "; as to cost, either will do" if cost.startswith("about") else ""
    return f"Next is {name}: {seen}the choice costs {cost}{either_will_do}."


def step_lines(study: SizeStudy, currency: str, units: Units) -> list[str]:
    """Return what each step from one size to the next buys, or why there is none to tell."""
    if study.steps:
        return [_step_line(step, currency, units) for step in study.steps]
    if study.found.chosen is None:
        return ["No design is named, so there is no step from it to tell of."]
    return ["No step to tell of: no two values that stand side by side were run with all else as chosen."]


def _step_line(step: Step, currency: str, units: Units) -> str:
    cost, days, tap = (step.gains[name] for name in (SPENT, DAYS_COUNTED, "tap_p5_pa"))
    said = [f"costs {difference(cost, money(currency))}", f"leaves {difference(days, DAYS)}"]
    pressure, words = _shown_pressure(tap, units)
    if abs(pressure.estimate) >= 0.5 * 10.0 ** -(words.decimals or 0):
        said.append(f"{difference(pressure, words)} at the tap when it is low")
    dry, life = step.gains["cistern_empty_days"], step.gains["cartridge_days"]
    if dry.estimate:
        said.append(difference(dry, DRY))
    if abs(life.estimate) >= 1.0:
        said.append(f"a cartridge lasts {difference(life, LIFE)}")
    return f"From {step.smaller} to {step.larger}: {', '.join(said)} ({counted(cost.n, 'run')})."


def nearest_flip(movers: tuple[Mover, ...]) -> Mover | None:
    """Return the price that has to change least, in proportion, for the advice to flip.

    Returns
    -------
    Mover or None
        None when no price flips it.
    """
    flips = [mover for mover in movers if mover.factor > 0 and math.isfinite(mover.factor)]
    return min(flips, key=lambda mover: abs(math.log(mover.factor)), default=None)


def flip_line(movers: tuple[Mover, ...], other: str) -> str:
    """Return the number nearest which the advice flips."""
    flip = nearest_flip(movers)
    if flip is None:
        return f"No price by itself was shown to flip the advice to the next best ({other})."
    return (
        f"Soonest to flip the advice is {flip.name}: at {number(flip.factor)} times today's, the next best "
        f"costs as much ({other})."
    )


def mover_lines(movers: tuple[Mover, ...], currency: str) -> list[str]:
    """Return what moves the difference between the choice and its rival."""
    lines, unsure = [], []
    for mover in sorted(movers, key=lambda one: -abs(one.change.estimate)):
        if mover.change.estimate == 0 and mover.change.half_width == 0:
            continue
        price = mover.name.startswith("the ")
        name = f"{mover.name} up by a tenth" if price else mover.name
        if mover.change.low <= 0 <= mover.change.high:
            unsure.append(f"{name} ({either(mover.change, money(currency))})")
            continue
        side = "towards the next" if mover.change.estimate > 0 else "towards the choice"
        line = f"{capital(name)} moves it by {plus_minus(mover.change)} {currency} a year {side}."
        if mover.factor == mover.factor:
            line += f" The two cost the same at {number(mover.factor)} times today's."
        lines.append(line)
    untold = f"It cannot be told which way these move it: {'; '.join(unsure[:MOST_UNSURE])}."
    return lines[:MOST_MOVERS] + ([untold] if unsure else [])


def _choice(study: SizeStudy, currency: str) -> Iterator[str]:
    line = study.lines.iloc[0]
    found = study.found
    assert found.chosen is not None
    limit = found.limits.days_below_target
    fresh = " in fresh runs" if line["fresh"] and not found.full else ""
    name, equipment = study.labels[found.chosen], number(line["cost_equipment"])
    yield (
        f"Within the limits {name} {_stands(study, currency)}: {from_to(interval_of(line, 'cost'))} "
        f"{currency} a year{fresh}, of which {equipment} is equipment spread over its life, with "
        f"{from_to(interval_of(line, 'days_below_target'))} days a year below the dose target (limit "
        f"{given(limit)})."
    )
    yield rival_line(study, currency)
    if found.rival is not None and study.gap is not None and not study.gap.low <= 0 <= study.gap.high:
        yield flip_line(study.movers, study.labels[found.rival])
    ties = [study.labels[arm] for arm, fate in found.fates.items() if fate == TIE and arm != found.rival]
    if ties:
        more = " ..." if len(ties) > MOST_TIES else ""
        yield f"{len(ties)} more may be as good: {', '.join(ties[:MOST_TIES])}{more}."


def _stands(study: SizeStudy, currency: str) -> str:
    """Return how the choice stands to the others in cost, no stronger than the runs showed it."""
    found, gap = study.found, study.gap
    if len(found.fates) == 1:
        return "is the only design that was run"
    if not found.settled:
        return "costs the least so far"
    if gap is None or gap.high < 0:
        return "costs the least"
    return f"costs the least, or within {given(found.worth)} {currency} a year of it"


def _none(study: SizeStudy, units: Units) -> str:
    """Say that none is named, and which comes nearest by its days."""
    nearest = study.lines.iloc[int(study.lines["days_below_target_high"].argmin())]
    days = from_to(interval_of(nearest, "days_below_target"))
    return (
        f"No design was shown to keep within {limits_said(study.found.limits, units)}, so none is named. "
        f"Not shown, and nearest to it: {nearest['design']}, with {days} days a year below the dose target."
    )


def interval_of(line: pd.Series, name: str) -> Interval:
    """Return a mean of the table of designs with its bounds."""
    estimate, low, high = (float(line[name + end]) for end in ("", "_low", "_high"))
    return Interval(estimate, low, high, CONFIDENCE, "Student t", int(line["runs"]))


def _shown_pressure(gap: Interval, units: Units) -> tuple[Interval, Words]:
    """Return a difference of pressure in the unit people chose."""
    shown = SHOWN[units]["pressure"]
    estimate, low, high = (from_si(one, shown.unit, "pressure") for one in (gap.estimate, gap.low, gap.high))
    return replace(gap, estimate=estimate, low=low, high=high), Words(shown.unit, decimals=shown.decimals)
