"""The months of a skip: what both runs had in each, what showed first, and how the house stood."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from sim.outcome.signs import NOBODY, OFF_S, VISIBLE_SDS, Sign
from sim.outcome.unusable import dry_days
from sim.plant import state
from sim.study.skip.sign_words import seen, sentence, span
from sim.study.skip.tally import Booked, Tally, tally, whole
from sim.study.wording import counted, given, number, percent
from sim.twin.history import History
from sim.twin.people.watching import WEAK_TAP_S
from sim.units import Units

OFF_H = OFF_S / 3600.0
WORK_H = 3.0  # without water in a month: what a few services more or less take [A]


@dataclass(frozen=True)
class Month:
    """One month of both runs; of two numbers the first is of the skipped run, the second of the kept one."""

    number: int  # counted from the start of the run, from 1
    first: date  # its first day, or that of the skip
    reading: tuple[float, float]  # UV reading at its end [fraction]
    visibly_lower: bool  # whether a person can trust that the reading is lower than it would have been
    drop_pa: tuple[float, float]  # largest drop over any stage [Pa]
    below_by: Tally  # days below the dose target
    alarm_by: Tally  # days with the alarm on
    off_by: Tally  # hours without water
    weak_s: tuple[float, float]  # time of weak taps [s]
    dry_days: tuple[int, int]  # taps gave nothing for 23 hours or more
    lines: tuple[str, ...]  # what showed first in it
    signs: tuple[str, ...]  # what of it a person could have seen, in the words of one who sees no more

    @property
    def below(self) -> tuple[int, int]:
        """Days below the dose target."""
        return _counts(self.below_by)

    @property
    def alarm(self) -> tuple[int, int]:
        """Days with the alarm on."""
        return _counts(self.alarm_by)

    @property
    def off_h(self) -> tuple[float, float]:
        """Hours without water."""
        return self.off_by.totals

    @property
    def stands(self) -> str:
        """How the house stood: reading, alarm, taps, days below the target; empty when as kept."""
        return standing((self,))

    @property
    def quiet(self) -> bool:
        """Whether the month was as it would have been."""
        return not self.lines and not self.stands

    @property
    def visible(self) -> tuple[str, ...]:
        """What a person could have seen in it, new or not."""
        said = []
        if self.alarm[0]:
            said.append(f"The UV alarm was on, {counted(self.alarm[0], 'day')}.")
        if self.off_h[0] > OFF_H:
            said.append(f"The taps gave nothing for {number(self.off_h[0])} h.")
        if self.weak_s[0] > WEAK_TAP_S:
            said.append(f"The taps ran weak for {span(self.weak_s[0])}.")
        return (*self.signs, *said)


def _counts(found: Tally) -> tuple[int, int]:
    mine, theirs = found.totals
    return round(mine), round(theirs)


def standing(months: Sequence[Month]) -> str:
    """Return what is not as it would have been in some months, each part with its causes."""
    first, *rest = months
    below, alarm, off = first.below_by, first.alarm_by, first.off_by
    for month in rest:
        below, alarm, off = below + month.below_by, alarm + month.alarm_by, off + month.off_by
    weak, dry = (
        [sum(both[at] for both in all_of) for at in (0, 1)]
        for all_of in ([month.weak_s for month in months], [month.dry_days for month in months])
    )
    last, said = months[-1], []
    if last.visibly_lower:
        mine, theirs = last.reading
        said.append(f"UV reading {percent(mine)} at the end (kept: {percent(theirs)})")
    if alarm.differs(0.0):
        said.append(whole(alarm, "alarm on, days: {}", given, 0.0))
    if off.differs(WORK_H):
        said.append(whole(off, "water off, hours: {}", number, OFF_H))
    if dry[0] != dry[1]:
        said.append(f"days without water: {dry[0]} (kept: {dry[1]})")
    if weak[0] - weak[1] > WEAK_TAP_S:
        said.append(f"weak taps {span(weak[0])} (kept: {span(weak[1])})")
    if below.differs(0.0):
        said.append(whole(below, "below the dose target, days: {}", given, 0.0))
    return "; ".join(said)


def months_of(
    kept: History, skipped: History, from_day: int, shown: Sequence[Sign], units: Units
) -> tuple[Month, ...]:
    """Return the months of two runs, from that of the skip on."""
    booked, dry = Booked.of(skipped, kept), (dry_days(skipped), dry_days(kept))
    return tuple(
        _month(kept, skipped, number, days, booked, dry, shown, units)
        for number, days in _calendar(skipped, from_day)
    )


def _calendar(history: History, from_day: int) -> list[tuple[int, range]]:
    """Return number and days of each calendar month, from that of the skip on."""
    found: dict[tuple[int, int], list[int]] = {}
    for day in range(history.n_days):
        on = history.start + timedelta(days=day)
        found.setdefault((on.year, on.month), []).append(day)
    months = [(number, range(days[0], days[-1] + 1)) for number, days in enumerate(found.values(), 1)]
    return [(number, range(max(d.start, from_day), d.stop)) for number, d in months if d.stop > from_day]


def _month(
    kept: History,
    skipped: History,
    number: int,
    days: range,
    booked: Booked,
    dry: tuple[np.ndarray, np.ndarray],
    shown: Sequence[Sign],
    units: Units,
) -> Month:
    at, last, both = slice(days.start, days.stop), days.stop - 1, (skipped, kept)
    drops = [float(run.drops_pa[at].max(initial=0.0)) for run in both]
    reading = [float(run.uv_reading[last]) for run in both]
    weak = [float(run.days[at, state.LOW_PRESSURE].sum()) for run in both]
    mine = [sign for sign in shown if sign.day in days]
    return Month(
        number=number,
        first=skipped.start + timedelta(days=days.start),
        reading=(reading[0], reading[1]),
        visibly_lower=reading[1] - reading[0] > VISIBLE_SDS * skipped.scenario.gauge.uv_reading_sd,
        drop_pa=(drops[0], drops[1]),
        below_by=tally(booked.below, at),
        alarm_by=tally(booked.alarm, at),
        off_by=tally(booked.off_h, at),
        weak_s=(weak[0], weak[1]),
        dry_days=(int(dry[0][at].sum()), int(dry[1][at].sum())),
        lines=tuple(sentence(sign, skipped.start, units) for sign in mine),
        signs=tuple(seen(sign, skipped.start, units) for sign in mine if sign.seen_on != NOBODY),
    )
