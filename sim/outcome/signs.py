"""What showed first in one run and not in its twin: two histories of one house, side by side.

Only what the work left undone can bring is a sign of it: works fall on other days in two runs, and with them
slips, new lamps and all that hangs on chance.
"""

from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt
from scipy.ndimage import maximum_filter1d

from sim.constants import DAY_S
from sim.outcome.brought import Brought, anything
from sim.outcome.causes import cause_of_alarms, cause_of_days
from sim.plant import cause, state
from sim.twin.due_drop import due_drop_pa
from sim.twin.history import History
from sim.twin.people.watching import WEAK_TAP_S

Flags = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
Codes = npt.NDArray[np.int64]  # of causes; see `sim.outcome.causes`
VISIBLE_SDS = 3.0  # a difference a person can trust: this many standard deviations of one reading [A]
OFF_S = 3600.0  # an hour without water is more than a service [A]
NEAR_DAYS = 30  # works fall on other days in two runs: a month either way is the same occasion [A]
BUSY = 2.0  # a pump that starts this many times as often is heard [A]
BUSY_STARTS = 10.0  # and only when it starts so often a day at all [A]
MONITOR, GAUGES, TAPS, PUMP, NOBODY = "the UV monitor", "the gauges", "the taps", "the pump", ""


@dataclass(frozen=True)
class Sign:
    """The first day on which something showed in the skipped run and not in the kept one."""

    # "reading", "alarm", "drop", "drop limit", "weak taps", "water off", "pump starts", "failure" or "below
    # target"
    what: str
    subject: str  # stage or part it is about; empty when there is only one
    day: int  # number of the day, from 0
    value: float  # as it was in the skipped run: fraction, Pa, s, starts a day, or m3 below the target
    kept: float  # the same in the kept run
    seen_on: str  # where a person could have seen it; empty when nobody could
    cause: str = ""  # logged cause of a bad day, an alarm or an outage, as in `sim.plant.cause`

    def on(self, start: date) -> date:
        """Return the date."""
        return start + timedelta(days=self.day)


def signs(kept: History, skipped: History, from_day: int, brought: Brought | None = None) -> tuple[Sign, ...]:
    """Return what showed first in the skipped run, in order of time.

    Parameters
    ----------
    brought : Brought, optional
        What the work left undone can bring; anything when absent.
    """
    can = brought or anything(skipped.scenario)
    found = [
        *_light(kept, skipped, from_day, can),
        *_drops(kept, skipped, from_day, can),
        *_taps(kept, skipped, from_day, can),
        _starts(kept, skipped, from_day) if can.starts else None,
        *_failures(kept, skipped, from_day, can),
        _below(kept, skipped, from_day, can),
    ]
    shown = [sign for sign in found if sign is not None]
    return tuple(sorted(shown, key=lambda sign: (sign.day, sign.what, sign.subject)))


def _sign(
    what: str,
    subject: str,
    shows: Flags,
    value: Floats,
    kept: Floats,
    seen_on: str,
    from_day: int,
    stood: Flags | None = None,
) -> Sign | None:
    """Return the first day on which something showed.

    Parameters
    ----------
    stood : ndarray, optional
        Days on which it stood as it stands then, whatever the other run had near them: it showed from the
        first of them in a row.
    """
    days = np.flatnonzero(shows[from_day:])
    if days.size == 0:
        return None
    day = from_day + int(days[0])
    while stood is not None and day > from_day and stood[day - 1]:
        day -= 1
    return Sign(what, subject, day, float(value[day]), float(kept[day]), seen_on)


def _shares(run: History, can: Brought, measure: int) -> Floats:
    """Return what was booked each day to the causes the skip can bring, 0 for the others."""
    booked = run.causes[:, :, measure]
    found: Floats = np.where(np.isin(np.arange(booked.shape[1]), list(can.causes)), booked, 0.0)
    return found


def _new(codes: Codes, kept: Codes, can: Brought) -> Flags:
    """Return the days whose cause the skip can bring, and that the kept run did not have near them.

    Whether something stands because someone waits, or by itself, is a matter of days, so the one is as the
    other.
    """
    found = np.zeros(codes.size, dtype=bool)
    late = kept == cause.PUT_OFF
    for code in can.causes:
        theirs = np.isin(kept, list(can.causes)) if code == cause.PUT_OFF else late | (kept == code)
        found |= (codes == code) & ~_any_near(theirs)
    return found


def _of_cause(sign: Sign | None, codes: Codes, booked: tuple[Floats, Floats] | None = None) -> Sign | None:
    """Name the cause logged for the day of a sign, with what was booked to it in both runs."""
    if sign is None:
        return None
    code = codes[sign.day]
    named = replace(sign, cause=cause.CAUSES[code])
    if booked is None:
        return named
    value, kept = (float(run[sign.day, code]) for run in booked)
    return replace(named, value=value, kept=kept)


def _light(kept: History, skipped: History, from_day: int, can: Brought) -> list[Sign | None]:
    """Return when the reading was visibly lower, and when the alarm was on for what the skip can bring."""
    readings = (skipped.uv_reading, kept.uv_reading)
    codes = cause_of_alarms(skipped)
    new = _new(codes, cause_of_alarms(kept), can)
    same = (codes == codes[np.argmax(new)]) & new.any()
    spoke = _sign("alarm", "", new, *readings, MONITOR, from_day, same)
    found = [_of_cause(spoke, codes)]
    if can.light:
        visible = VISIBLE_SDS * skipped.scenario.gauge.uv_reading_sd
        lower = _least_near(kept.uv_reading) - skipped.uv_reading > visible
        stood = kept.uv_reading - skipped.uv_reading > visible
        found.append(_sign("reading", "", lower, *readings, MONITOR, from_day, stood))
    return found


def _most_near(values: Floats) -> Floats:
    """Return the greatest within a month either way of each day."""
    found: Floats = maximum_filter1d(values, 2 * NEAR_DAYS + 1, mode="nearest")
    return found


def _least_near(values: Floats) -> Floats:
    """Return the least within a month either way of each day."""
    return -_most_near(-values)


def _any_near(flags: Flags) -> Flags:
    """Return whether any within a month either way of each day."""
    return _most_near(flags.astype(float)) > 0.0


def _drops(kept: History, skipped: History, from_day: int, can: Brought) -> list[Sign | None]:
    """Return when a drop read visibly higher, and when it passed the one from which a cartridge is due."""
    found = []
    visible_pa = VISIBLE_SDS * skipped.scenario.gauge.reading_sd_pa
    for i, stage in enumerate(skipped.scenario.stages):
        if stage.name not in can.stages:
            continue
        value, other = skipped.drops_pa[:, i], kept.drops_pa[:, i]
        due_pa = due_drop_pa(skipped.scenario, i)
        most_pa = _most_near(other)
        passed = (value > due_pa) & ~(most_pa > due_pa)
        for what, shows, stood in (
            ("drop", value - most_pa > visible_pa, value - other > visible_pa),
            ("drop limit", passed, value > due_pa),
        ):
            found.append(_sign(what, stage.name, shows, value, other, GAUGES, from_day, stood))
    return found


def _taps(kept: History, skipped: History, from_day: int, can: Brought) -> list[Sign | None]:
    """Return when taps ran weak, and when they gave nothing for what the skip can bring."""
    found = []
    if can.causes & {cause.CLOGGED, cause.PUMP_BROKEN}:
        weak = [run.days[:, state.LOW_PRESSURE] for run in (skipped, kept)]
        stood = weak[0] > WEAK_TAP_S
        shows = stood & ~(_most_near(weak[1]) > WEAK_TAP_S)
        found.append(_sign("weak taps", "", shows, weak[0], weak[1], TAPS, from_day, stood))
    off = (_shares(skipped, can, cause.OFF), _shares(kept, can, cause.OFF))
    near = maximum_filter1d(off[1], 2 * NEAR_DAYS + 1, axis=0, mode="nearest")
    dry = off[0] > OFF_S
    new = np.any(dry & ~(near > OFF_S), axis=1)
    most = (off[0].max(axis=1), off[1].max(axis=1))
    out = _sign("water off", "", new, *most, TAPS, from_day, np.any(dry, axis=1))
    return [*found, _of_cause(out, np.argmax(off[0], axis=1), off)]


def _starts(kept: History, skipped: History, from_day: int) -> Sign | None:
    value, other = skipped.days[:, state.STARTS], kept.days[:, state.STARTS]
    busy = (value > BUSY_STARTS) & (value >= BUSY * _most_near(other))
    stood = (value > BUSY_STARTS) & (value >= BUSY * other)
    return _sign("pump starts", "", busy, value, other, PUMP, from_day, stood)


def _below(kept: History, skipped: History, from_day: int, can: Brought) -> Sign | None:
    codes = cause_of_days(skipped)
    shows = _new(codes, cause_of_days(kept), can)
    litres = (skipped.causes[:, :, cause.LITRES], kept.causes[:, :, cause.LITRES])
    sign = _sign("below target", "", shows, litres[0].sum(axis=1), litres[1].sum(axis=1), NOBODY, from_day)
    return _of_cause(sign, codes, litres)


def _failures(kept: History, skipped: History, from_day: int, can: Brought) -> list[Sign]:
    """Return parts that failed in the skipped run more often than in the kept one, or earlier."""
    found: dict[str, Sign] = {}
    theirs = [(event.subject, event.time_s) for event in kept.events if event.kind == "failure"]
    for event in skipped.events:
        if event.kind != "failure" or event.subject not in can.parts | can.stages:
            continue
        day = int(event.time_s // DAY_S)
        near = any(
            name == event.subject and abs(time_s - event.time_s) <= NEAR_DAYS * DAY_S
            for name, time_s in theirs
        )
        if day >= from_day and not near and event.subject not in found:
            found[event.subject] = Sign("failure", event.subject, day, 1.0, 0.0, NOBODY)
    return list(found.values())
