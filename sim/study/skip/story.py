"""What happened because something was skipped, told month by month from two histories.

Dates are those of the skipped run alone. The kept run is set beside it by cause: what came for the same cause
in both is told as such, and nothing is said to come of the skip but by its logged cause.
"""

from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from sim.outcome import measures
from sim.outcome.brought import Brought, brought
from sim.outcome.signs import NOBODY, Sign, signs
from sim.outcome.unusable import unusable_days
from sim.plant import state
from sim.plant.cause import CAUSES
from sim.scenario.care import Policy
from sim.study.compare.causes_said import ORIGINS
from sim.study.dates import spelled
from sim.study.skip.months import OFF_H, Month, months_of
from sim.study.skip.sign_words import sentence
from sim.study.skip.tally import Booked, firsts, origins, tally
from sim.study.wording import bare, counted, difference, given, money, number
from sim.twin.history import History
from sim.units import Units


@dataclass(frozen=True)
class Story:
    """What a skip came to in one run."""

    signs: tuple[Sign, ...]  # what showed, in order of time
    months: tuple[Month, ...]  # from the month of the skip on
    # what showed first and where, days below target, alarm, taps, whether the house can be used, the cost
    summary: tuple[str, ...]


def tell(kept: History, skipped: History, left: Policy, units: Units) -> Story:
    """Tell what the last skip of a policy did, with those that go with it."""
    from_day = int(left.skips[-1].from_s // 86400.0)
    can = brought(skipped.scenario, left)
    shown = signs(kept, skipped, from_day, can)
    booked = Booked.of(skipped, kept)
    summary = [
        *_first_to_show(shown, skipped, units),
        _below(skipped, booked, from_day, can),
        _alarm(skipped, booked, from_day),
        _taps(skipped, kept, booked, from_day),
        *_unusable(skipped, kept, from_day),
        _cost(kept, skipped, from_day),
    ]
    return Story(shown, months_of(kept, skipped, from_day, shown, units), tuple(summary))


def _first_to_show(shown: tuple[Sign, ...], skipped: History, units: Units) -> list[str]:
    if not shown:
        return ["In this run nothing showed that leaving this work undone brings."]
    first = f"First to show: {sentence(shown[0], skipped.start, units)}"
    visible = next((sign for sign in shown if sign.seen_on != NOBODY), None)
    if visible is None:
        return [first, "Nobody could have seen any of it on gauges, monitor, taps or pump."]
    said = f"A person could have seen it on {visible.seen_on} from {spelled(visible.on(skipped.start))} on"
    below = next((sign for sign in shown if sign.what == "below target"), None)
    if below is None:
        return [first, f"{said}."]
    day = f"the day on which water came below the dose target {ORIGINS[below.cause]}"
    on = f"{day}, {spelled(below.on(skipped.start))}"
    lead = below.day - visible.day
    return [first, f"{said}, {counted(lead, 'day')} before {on}." if lead > 0 else f"{said}; {on}."]


def _below(skipped: History, booked: Booked, from_day: int, can: Brought) -> str:
    found = tally(booked.below, slice(from_day, None))
    mine, theirs = found.totals
    if not mine:
        return f"After the skip began no day fell below the dose target (kept: {given(theirs)})."
    begun = firsts(booked.below, from_day, skipped.start)
    first = min(begun.values())
    gap = (first - skipped.start).days - from_day
    below, alarm = (np.any(both[0][from_day:] > 0.0, axis=1) for both in (booked.below, booked.alarm))
    silent = int((below & ~alarm).sum())
    guarded = sum(found.skipped.get(CAUSES[code], 0.0) for code in can.causes)
    return (
        f"After the skip began {counted(mine, 'day')} fell below the dose target (kept: {given(theirs)}), "
        f"the first on {spelled(first)}, {counted(gap, 'day')} after it began: "
        f"{origins(found, given, 0.0, begun)}. {given(guarded)} of these {given(mine)} are of causes that "
        f"the work guards against; on {silent} the alarm was not on."
    )


def _alarm(skipped: History, booked: Booked, from_day: int) -> str:
    found = tally(booked.alarm, slice(from_day, None))
    mine, theirs = found.totals
    if not mine:
        return f"After the skip began the alarm never came on (kept: {given(theirs)})."
    begun = firsts(booked.alarm, from_day, skipped.start)
    return (
        f"After the skip began the alarm was on {counted(mine, 'day')} (kept: {given(theirs)}), the first on "
        f"{spelled(min(begun.values()))}: {origins(found, given, 0.0, begun)}."
    )


def _taps(skipped: History, kept: History, booked: Booked, from_day: int) -> str:
    found = tally(booked.off_h, slice(from_day, None))
    mine, theirs = found.totals
    weak = [float(run.days[from_day:, state.LOW_PRESSURE].sum()) / 3600.0 for run in (skipped, kept)]
    why = origins(found, number, OFF_H)
    return (
        f"After the skip began the taps gave nothing for {number(mine)} h (kept: {number(theirs)})"
        f"{f': {why}' if why else ''}. They ran weak for {number(weak[0])} h (kept: {number(weak[1])})."
    )


def _unusable(skipped: History, kept: History, from_day: int) -> list[str]:
    """Return when the house could not be used for want of water, and from when on to the end."""
    flags = [unusable_days(run)[from_day:] for run in (skipped, kept)]
    mine, theirs = (int(run.sum()) for run in flags)
    if not mine:
        return []
    used = np.flatnonzero(~flags[0])
    last = int(used[-1]) + 1 if used.size else 0  # from here on it was never used again
    first = int(np.argmax(flags[0]))
    said = [
        f"On {counted(mine, 'day')} the house could not be used, the first on "
        f"{spelled(skipped.start + timedelta(days=from_day + first))} (kept: {theirs}): for a week or longer "
        "its taps gave nothing, 23 hours or more of each day."
    ]
    if last < flags[0].size:
        on = spelled(skipped.start + timedelta(days=from_day + last))
        said.append(f"From {on} to the end of the run it could never be used again.")
    return said


def _cost(kept: History, skipped: History, from_day: int) -> str:
    years, currency = float(skipped.years), skipped.scenario.prices.currency
    costs = [float(measures.row(run)["cost"]) * years for run in (skipped, kept)]
    gap, span = costs[0] - costs[1], f"Over {counted(years, 'year')}"
    both = f"{number(costs[0])} in place of {number(costs[1])}"
    dry = [int(unusable_days(run)[from_day:].sum()) for run in (skipped, kept)]
    if dry[0] > dry[1]:
        less = f"{number(costs[0])} {currency} was spent in place of {number(costs[1])}"
        return f"{span} {less}; what is not spent on a house without water is no saving."
    return f"{span} it cost {difference(bare(gap), money(currency, ''), 'doing the work')}: {both}."
