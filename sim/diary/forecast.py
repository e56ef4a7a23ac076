"""Forecasts of dates as they are kept: when made, of what, by which members, beside what they are held."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from sim.constants import DAY_S
from sim.diary.book import Diary
from sim.diary.entries import Reading, days_since
from sim.diary.evidence import effects_of
from sim.diary.outlook import HORIZON_DAYS
from sim.diary.parts.axes import Floats
from sim.diary.properties import DROP
from sim.scenario.effects import TaskEffect
from sim.scenario.scenario import Scenario

MEMBERS = 99
LATE_QUANTILE = 0.1  # one in ten is late at the date that is advised
UV_PART = "UV"


@dataclass(frozen=True)
class Forecast:
    """When a reading passes a limit, as it was seen on a day.

    Attributes
    ----------
    made : date
        The day at whose end it was made.
    part : str
        Name of a stage, or "UV".
    limit : float
        Limit of the reading, in SI.
    horizon_days : float
        What comes later counts as this.
    members, prior : tuple of float
        Days to the event at even quantiles, with the readings and without.
    advised_days, calendar_days, line_days : float
        Days to the date advised, to that of the calendar, and to where a line through the readings passes.
    digest : str
        Names the diary it was made of.
    """

    made: date
    part: str
    limit: float
    horizon_days: float
    members: tuple[float, ...]
    prior: tuple[float, ...]
    advised_days: float
    calendar_days: float
    line_days: float
    digest: str


def members_of(days: Floats) -> tuple[float, ...]:
    """Return days at even quantiles, which stand for all draws."""
    shares = (np.arange(MEMBERS) + 0.5) / MEMBERS
    return tuple(float(x) for x in np.round(np.quantile(days, shares), 2))


def renewed_by(part: str) -> frozenset[TaskEffect]:
    """Return the effects after which the reading of a part begins anew."""
    light: frozenset[TaskEffect] = frozenset({"wiped sleeve", "wiped sensor window", "new lamp"})
    return light if part == UV_PART else frozenset({"new cartridge"})


def renewals(scenario: Scenario, diary: Diary, part: str, begin: date) -> list[float]:
    """Return the days since a begin on which a part was renewed, in order."""
    wanted = renewed_by(part)
    return [
        days_since(begin, act.at)
        for act in diary.acts
        if wanted & set(effects_of(scenario, act)) and part in (UV_PART, act.stage)
    ]


def readings_of(diary: Diary, part: str) -> list[Reading]:
    """Return the readings a part is followed by, in order."""
    name = UV_PART if part == UV_PART else f"{DROP} {part}"
    return [one for one in diary.readings if one.observed == name]


def calendar_days(scenario: Scenario, diary: Diary, part: str, today: date) -> float:
    """Return the days until a part would be seen to by the calendar of the first policy that has one."""
    wanted = renewed_by(part)
    every = [
        rule.every_s / DAY_S
        for policy in scenario.policies
        for rule in policy.rules
        if rule.when == "calendar"
        and (task := scenario.task(rule.task)) is not None
        and wanted & set(task.effects)
        and part in (UV_PART, rule.stage)
    ]
    if every:
        interval = every[0]
    else:
        ages = {stage.name: stage.age_limit_s / DAY_S for stage in scenario.stages}
        interval = ages.get(part, 365.0)
    last = [day for day in renewals(scenario, diary, part, today) if day <= 1.0]
    return float(np.clip((last[-1] if last else 0.0) + interval, 0.0, HORIZON_DAYS))


def line_days(readings: Sequence[tuple[float, float]], limit: float, rising: bool) -> float:
    """Return the days until a straight line through readings passes a limit, the horizon where it never does.

    Parameters
    ----------
    readings : sequence of tuple
        Days from today and values since the last renewal.

    Examples
    --------
    >>> line_days([(-20.0, 2.0), (-10.0, 3.0), (0.0, 4.0)], 10.0, True)
    60.0
    """
    if len(readings) < 2:
        return float(HORIZON_DAYS)
    days, values = np.array(readings, dtype=np.float64).T
    if np.ptp(days) <= 0.0:
        return float(HORIZON_DAYS)
    slope, start = (float(x) for x in np.polyfit(days, values, 1))
    if slope == 0.0 or (slope > 0.0) != rising:
        return float(HORIZON_DAYS)
    return min(max((limit - start) / slope, 0.0), float(HORIZON_DAYS)) if math.isfinite(slope) else 0.0


def line_of(scenario: Scenario, diary: Diary, part: str, today: date, limit: float) -> float:
    """Return where a line through the readings since the last renewal passes a limit, in days from today."""
    last = max([day for day in renewals(scenario, diary, part, today) if day <= 1.0], default=-math.inf)
    found = [(days_since(today, one.at), one.value) for one in readings_of(diary, part)]
    return line_days([one for one in found if last < one[0] <= 1.0], limit, part != UV_PART)
