"""The parts of a house today: a state with its band, what to do, and by when."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from sim.diary.fit import Misfit, fits
from sim.diary.forecast import LATE_QUANTILE, UV_PART
from sim.diary.outlook import HORIZON_DAYS
from sim.diary.parts.axes import Floats
from sim.diary.picture import Picture
from sim.scenario.effects import TaskEffect
from sim.scenario.scenario import Scenario

LOW, HIGH = 0.1, 0.9  # every range that is told: 8 of 10


@dataclass(frozen=True)
class Range:
    """A middle with the range in which 8 of 10 lie; in SI, or a share."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True)
class When:
    """Dates of an event; None for later than is told.

    Attributes
    ----------
    by : date or None
        The date advised: one in ten is late by then.
    likely, first, last : date or None
        Middle of the dates, and the range in which 8 of 10 lie.
    """

    by: date | None
    likely: date | None
    first: date | None
    last: date | None


@dataclass(frozen=True)
class PartToday:
    """One part.

    Attributes
    ----------
    name : str
        What it is called: that of a stage, "UV", "lamp", "precharge", "cistern".
    measure : str
        What the state is: "used", "reading", "light left", "pressure", "full".
    state : Range
        Share, or pressure [Pa].
    doses : tuple of Range
        Of the UV unit: at rated and at peak flow [J/m2]; else empty.
    tasks : tuple of str
        What to do, by label.
    when : When or None
        By when; None where nothing tells, or the readings do not fit.
    readings : int
        How many bear on it since the begin.
    size : float
        Effective number of draws; 0 where none are weighed.
    fits : bool
        Whether its readings fit the model of it.
    """

    name: str
    measure: str
    state: Range
    doses: tuple[Range, ...]
    tasks: tuple[str, ...]
    when: When | None
    readings: int
    size: float
    fits: bool = True

    @property
    def due(self) -> date | None:
        """The date by which it is to be seen to."""
        return self.when.by if self.when is not None else None


def band(values: Floats) -> Range:
    """Return the middle of draws, and the range of 8 of 10."""
    low, middle, high = (float(x) for x in np.quantile(values, [LOW, 0.5, HIGH]))
    return Range(low, middle, high)


def dates(days: Floats, today: date) -> When:
    """Return the dates of an event from the days to it by draw."""
    found = [
        today + timedelta(days=int(x)) if x < HORIZON_DAYS else None
        for x in np.quantile(days, [LATE_QUANTILE, 0.5, LOW, HIGH])
    ]
    return When(*found)


def parts_today(scenario: Scenario, seen: Picture, today: date) -> tuple[PartToday, ...]:
    """Return all parts, in the order of the water."""
    found = [PartToday("cistern", "full", band(seen.level_share), (), (), None, _levels(seen), 0.0)]
    charge = seen.precharge
    found.append(
        PartToday(
            "precharge", "pressure", band(charge.now_pa), (), tasks_with(scenario, ("set precharge",), ""),
            dates(charge.days, today), charge.readings, charge.size,
        )
    )  # fmt: skip
    for k, outlook in enumerate(seen.stages):
        name, posterior = seen.parts.stages[k].name, seen.inferred.stages[k]
        count = seen.evidence.drops[k].at_days.size
        good = fits(posterior, count, _about(seen.misfits, name))
        found.append(
            PartToday(
                name, "used", band(outlook.used_share), (), tasks_with(scenario, ("new cartridge",), name),
                dates(outlook.days, today) if good else None, count, posterior.size, good,
            )
        )  # fmt: skip
    return (*found, *_uv(scenario, seen, today))


def uv_days(seen: Picture) -> Floats:
    """Return the days until the alarm or a dose below target, whichever comes first, by draw."""
    return np.minimum(seen.uv.alarm_days, seen.uv.target_days)


def _uv(scenario: Scenario, seen: Picture, today: date) -> list[PartToday]:
    outlook, posterior = seen.uv, seen.inferred.uv
    count = seen.evidence.uv.readings
    good = fits(posterior, count, _about(seen.misfits, UV_PART))
    wiping = tasks_with(scenario, ("wiped sleeve", "wiped sensor window"), "")
    doses = (band(outlook.dose_j_m2[:, 0]), band(outlook.peak_dose_j_m2))
    lamp = outlook.lamp_s / scenario.uv.rated_life_s
    return [
        PartToday(
            UV_PART, "reading", band(outlook.light[:, 0]), doses, wiping,
            dates(uv_days(seen), today) if good else None, count, posterior.size, good,
        ),
        PartToday("sleeve", "light let through", band(outlook.sleeve_share), (), (), None, count, 0.0, good),
        PartToday("window", "light let through", band(outlook.window_share), (), (), None, count, 0.0, good),
        PartToday(
            "lamp", "used", band(lamp), (), tasks_with(scenario, ("new lamp",), ""),
            dates(outlook.lamp_days, today), count, posterior.size, good,
        ),
    ]  # fmt: skip


def tasks_with(scenario: Scenario, effects: Sequence[TaskEffect], stage: str) -> tuple[str, ...]:
    """Return the labels of the tasks of a site that leave some effects behind, the cheapest of each."""
    found: list[str] = []
    for effect in effects:
        able = [task for task in scenario.tasks if effect in task.effects]
        if able:
            best = min(able, key=lambda task: (task.part_price, task.minutes))
            label = f"{best.name}: {stage}" if stage else best.name
            found += [label] if label not in found else []
    return tuple(found)


def _about(misfits: Sequence[Misfit], name: str) -> list[Misfit]:
    return [one for one in misfits if one.part == name]


def _levels(seen: Picture) -> int:
    return int(np.ptp(seen.evidence.of_paths) > 0.0)
