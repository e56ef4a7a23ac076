"""The answer of a search over sizes in sentences, each number with its uncertainty."""

import math
from collections.abc import Iterator

import pandas as pd

from sim.study.compare.sentences import DAYS_DECIMALS, plus_minus, three_digits
from sim.study.search.catalogue import SAID
from sim.study.search.describe import Step
from sim.study.search.pool import SPENT
from sim.study.search.search import TIE, UNSHOWN, Found
from sim.study.search.sensitivity import Mover
from sim.study.size.sizes import SizeStudy
from sim.study.statistics.intervals import Interval
from sim.units import Units, text

MOST_MOVERS, MOST_UNSURE = 6, 4


def size_sentences(study: SizeStudy, currency: str) -> list[str]:
    """Return the sentences of the answer, the choice first."""
    found = study.found
    said = [_none(found)] if found.chosen is None else list(_choice(study, currency))
    said += [guarantee(found, currency), saved(found, study.described), SAID]
    return [sentence for sentence in said if sentence]


def guarantee(found: Found, currency: str) -> str:
    """Return what the procedure promises, or that it could not end by its own rule."""
    percent = f"{100 * (1 - found.error):g} %"
    worth = f"{three_digits(found.worth)} {currency} a year"
    if found.settled and found.chosen is not None:
        return (
            f"If one within the limits is cheaper than the others by {worth} or more, the procedure picks it "
            f"with a probability of at least {percent} (normal means)."
        )
    if found.chosen is None:
        return f"Limits are judged at {percent} for all together."
    return (
        f"The runs did not settle it to {worth} at {percent}: some may be as good or better. More "
        "runs, or a greater least difference that matters, would."
    )


def saved(found: Found, described: int) -> str:
    """Return how many runs it took, against the full grid."""
    if found.full:
        return f"Every design had every replication: {found.searched:,} runs."
    share = 1 - found.searched / found.grid
    less = f"{share:.0%} fewer than the" if share >= 0 else "more than the"
    return (
        f"The search took {found.searched:,} runs, {less} {found.grid:,} of the full grid, and {described:,} "
        "more described the choice in fresh weather."
    )


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
    if gap.low <= 0 <= gap.high:
        return (
            f"Next is {name}: {seen}the two differ by {plus_minus(gap)} {currency} a year, which may be no "
            "difference: as to cost, either will do."
        )
    side = "less" if gap.estimate < 0 else "more"
    return f"Next is {name}: {seen}the choice costs {plus_minus(gap)} {currency} a year {side}."


def step_line(step: Step, currency: str, units: Units) -> str:
    """Return what a step from one size to the next buys."""
    cost, days, tap = (step.gains[name] for name in (SPENT, "days_below_target", "tap_p5_pa"))
    said = [
        f"costs {_more(cost, f' {currency} a year')}",
        f"{_more(days, ' days below the dose target', DAYS_DECIMALS)}",
    ]
    if text(abs(tap.estimate), "pressure", units) != text(0.0, "pressure", units):
        said.append(f"{_pressure(tap, units)} at the tap when it is low")
    dry, life = step.gains["cistern_empty_days"], step.gains["cartridge_days"]
    if dry.estimate:
        said.append(_more(dry, " dry days", DAYS_DECIMALS))
    if abs(life.estimate) >= 1.0:
        said.append(f"a cartridge lasts {_more(life, ' days')}")
    return f"From {step.smaller} to {step.larger}: {', '.join(said)} ({cost.n} runs)."


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
        f"The advice flips nearest at {flip.name}: at {three_digits(flip.factor)} times today's, the next "
        f"best costs as much ({other})."
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
            unsure.append(f"{name} ({signed(mover.change)})")
            continue
        sign = "towards the next" if mover.change.estimate > 0 else "towards the choice"
        line = f"{_capital(name)} moves it by {plus_minus(mover.change)} {currency} a year {sign}."
        if mover.factor == mover.factor:
            line += f" The two cost the same at {three_digits(mover.factor)} times today's."
        lines.append(line)
    named = f"May move it by nothing, in {currency} a year: {'; '.join(unsure[:MOST_UNSURE])}."
    return lines[:MOST_MOVERS] + ([named] if unsure else [])


def signed(interval: Interval, decimals: int = 2) -> str:
    """Return a difference with a sign and its half-width.

    Returns
    -------
    str
        Such as "-2.4 ± 8.9".
    """
    said = plus_minus(interval, decimals)
    return f"-{said}" if interval.estimate < 0 else said


def _choice(study: SizeStudy, currency: str) -> Iterator[str]:
    line = study.lines.iloc[0]
    found = study.found
    assert found.chosen is not None
    fresh = " in fresh runs" if line["fresh"] and not found.full else ""
    name, equipment = study.labels[found.chosen], three_digits(line["cost_equipment"])
    yield (
        f"{_capital(name)} costs the least within the limits: {_between(line, 'cost')} "
        f"{currency} a year{fresh}, of which {equipment} is equipment spread over its life, with "
        f"{_between(line, 'days_below_target')} days a year below the dose target (limit "
        f"{found.limits.days_below_target:g})."
    )
    if line["days_below_target"] > found.limits.days_below_target:
        yield "In these runs its mean is over the limit, though it was shown within it before: look again."
    yield rival_line(study, currency)
    if found.rival is not None and study.gap is not None and not study.gap.low <= 0 <= study.gap.high:
        yield flip_line(study.movers, study.labels[found.rival])
    ties = [study.labels[arm] for arm, fate in found.fates.items() if fate == TIE and arm != found.rival]
    if ties:
        yield f"{len(ties)} more may be as good: {', '.join(ties[:4])}{' ...' if len(ties) > 4 else ''}."


def _none(found: Found) -> str:
    return (
        f"No design was shown to keep within {found.limits.days_below_target:g} days below the dose target "
        f"and {found.limits.water_off_h:g} water-off hours a year, so none is chosen; the table says how far "
        "off each is."
    )


def _between(line: pd.Series, name: str) -> str:
    return _bounds(*(float(line[name + end]) for end in ("", "_low", "_high")))


def bounded(interval: Interval) -> str:
    """Return an estimate that cannot be negative with its bounds.

    Returns
    -------
    str
        Such as "3.2 (1.1 to 6)".
    """
    if interval.estimate == interval.high == 0:  # runs without any do not show that there are none
        return f"0 (none in {interval.n} runs)"
    return _bounds(interval.estimate, interval.low, interval.high)


def _bounds(estimate: float, low: float, high: float) -> str:
    return f"{three_digits(estimate)} ({three_digits(max(0.0, low))} to {three_digits(high)})"


def _more(interval: Interval, unit: str, decimals: int = 2) -> str:
    """Return a difference with its sign in words."""
    if interval.estimate == 0 and not interval.half_width > 0:
        return f"as many{unit}" if "days" in unit else "the same"
    said = f"{plus_minus(interval, decimals)}{unit} {'more' if interval.estimate >= 0 else 'less'}"
    return f"{said} (may be none)" if interval.low <= 0 <= interval.high else said


def _capital(name: str) -> str:
    return f"{name[:1].upper()}{name[1:]}"


def _pressure(interval: Interval, units: Units) -> str:
    size = text(abs(interval.estimate), "pressure", units)
    half = text(interval.half_width, "pressure", units) if interval.known else "unknown"
    return f"{size} (± {half}) {'more' if interval.estimate >= 0 else 'less'}"
