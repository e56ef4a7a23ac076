"""What showed first in one run and not in its twin: two histories of one house, side by side."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt
from scipy.ndimage import maximum_filter1d

from sim.constants import DAY_S
from sim.outcome.measures import below_target_days
from sim.plant import state
from sim.twin.history import History
from sim.twin.people.watching import WEAK_TAP_S

Flags = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
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

    def on(self, start: date) -> date:
        """Return the date."""
        return start + timedelta(days=self.day)


def signs(kept: History, skipped: History, from_day: int) -> tuple[Sign, ...]:
    """Return what showed first in the skipped run, in order of time."""
    sc = skipped.scenario
    lower = _least_near(kept.uv_reading) - skipped.uv_reading > VISIBLE_SDS * sc.gauge.uv_reading_sd
    spoke = skipped.alarm_days & ~_any_near(kept.alarm_days)
    readings = (skipped.uv_reading, kept.uv_reading)
    found = [
        _sign("reading", "", lower, *readings, MONITOR, from_day),
        _sign("alarm", "", spoke, *readings, MONITOR, from_day),
        *_drops(kept, skipped, from_day),
        *_taps(kept, skipped, from_day),
        _starts(kept, skipped, from_day),
        *_failures(kept, skipped, from_day),
        _below(kept, skipped, from_day),
    ]
    shown = [sign for sign in found if sign is not None]
    return tuple(sorted(shown, key=lambda sign: (sign.day, sign.what, sign.subject)))


def _sign(
    what: str, subject: str, shows: Flags, value: Floats, kept: Floats, seen_on: str, from_day: int
) -> Sign | None:
    days = np.flatnonzero(shows[from_day:])
    if days.size == 0:
        return None
    day = from_day + int(days[0])
    return Sign(what, subject, day, float(value[day]), float(kept[day]), seen_on)


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


def _drops(kept: History, skipped: History, from_day: int) -> list[Sign | None]:
    """Return when a drop read visibly higher, and when it passed the rise a cartridge is changed at."""
    found = []
    visible_pa = VISIBLE_SDS * skipped.scenario.gauge.reading_sd_pa
    for i, stage in enumerate(skipped.scenario.stages):
        value, other = skipped.drops_pa[:, i], kept.drops_pa[:, i]
        clean_pa = stage.terminal_rise_pa
        most_pa = _most_near(other)
        passed = (value > clean_pa) & ~(most_pa > clean_pa)
        found.append(_sign("drop", stage.name, value - most_pa > visible_pa, value, other, GAUGES, from_day))
        found.append(_sign("drop limit", stage.name, passed, value, other, GAUGES, from_day))
    return found


def _taps(kept: History, skipped: History, from_day: int) -> list[Sign | None]:
    found = []
    for what, column, least in (
        ("weak taps", state.LOW_PRESSURE, WEAK_TAP_S),
        ("water off", state.WATER_OFF, OFF_S),
    ):
        value, other = skipped.days[:, column], kept.days[:, column]
        found.append(
            _sign(what, "", (value > least) & ~(_most_near(other) > least), value, other, TAPS, from_day)
        )
    return found


def _starts(kept: History, skipped: History, from_day: int) -> Sign | None:
    value, other = skipped.days[:, state.STARTS], kept.days[:, state.STARTS]
    busy = (value > BUSY_STARTS) & (value >= BUSY * _most_near(other))
    return _sign("pump starts", "", busy, value, other, PUMP, from_day)


def _below(kept: History, skipped: History, from_day: int) -> Sign | None:
    shows = below_target_days(skipped) & ~below_target_days(kept)
    volumes = (skipped.days[:, state.BELOW_TARGET], kept.days[:, state.BELOW_TARGET])
    return _sign("below target", "", shows, *volumes, NOBODY, from_day)


def _failures(kept: History, skipped: History, from_day: int) -> list[Sign]:
    """Return parts that failed in the skipped run more often than in the kept one, or earlier."""
    found: dict[str, Sign] = {}
    theirs = [(event.subject, event.time_s) for event in kept.events if event.kind == "failure"]
    for event in skipped.events:
        day = int(event.time_s // DAY_S)
        near = any(
            name == event.subject and abs(time_s - event.time_s) <= NEAR_DAYS * DAY_S
            for name, time_s in theirs
        )
        new = event.kind == "failure" and day >= from_day and not near
        if new and event.subject not in found:
            found[event.subject] = Sign("failure", event.subject, day, 1.0, 0.0, NOBODY)
    return list(found.values())
