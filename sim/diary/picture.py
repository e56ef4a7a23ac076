"""A house as its diary shows it on a day: every part by draw, now and ahead, and what does not fit."""

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np

from sim.diary.book import Diary
from sim.diary.evidence import begin_of, evidence_of, first_of, water_acts
from sim.diary.fit import Misfit, misfits
from sim.diary.infer import Evidence, Inferred, Parts, infer, parts_of
from sim.diary.outlook import (
    HORIZON_DAYS,
    StageOutlook,
    UvOutlook,
    stage_outlook,
    uv_outlook,
    without_use,
)
from sim.diary.parts.axes import Floats
from sim.diary.paths import COUNT, Paths, Water, kept, known_water, paths
from sim.diary.slow import Precharge, precharge
from sim.scenario.read.series import RainRecord
from sim.scenario.scenario import Scenario
from sim.twin.due_drop import due_drop_pa


@dataclass(frozen=True)
class Setting:
    """What a picture is made of, besides the diary.

    Attributes
    ----------
    away : tuple of tuple of date
        First and last day of absences to come.
    folder : Path
        Where paths are kept.
    """

    scenario: Scenario
    rain: RainRecord | None
    today: date
    away: tuple[tuple[date, date], ...]
    folder: Path
    workers: int = 1
    count: int = COUNT
    tell: Callable[[int, int], None] = lambda _done, _of: None


@dataclass(frozen=True)
class Picture:
    """A house on a day.

    Attributes
    ----------
    today_days : float
        The end of that day, since the begin of the paths.
    level_share : ndarray
        Water in the cistern over its capacity, by draw.
    """

    parts: Parts
    paths: Paths
    evidence: Evidence
    inferred: Inferred
    today_days: float
    stages: tuple[StageOutlook, ...]
    uv: UvOutlook
    precharge: Precharge
    level_share: Floats
    misfits: tuple[Misfit, ...]


def picture(setting: Setting, diary: Diary) -> Picture:
    """Return a house as its diary shows it at the end of a day; what came later is left out."""
    known = diary.until(setting.today)
    made = paths(
        setting.scenario, _water(setting, known), setting.today, setting.folder, setting.workers,
        setting.count, setting.tell,
    )  # fmt: skip
    return of_paths(setting, known, made)


def ready(setting: Setting, diary: Diary) -> bool:
    """Return whether the paths of a house were made before, so that its picture takes no long work."""
    water = _water(setting, diary.until(setting.today))
    return kept(setting.scenario, water, setting.today, setting.folder, setting.count) is not None


def _water(setting: Setting, known: Diary) -> Water:
    begin = begin_of(known, setting.today)
    acts = water_acts(setting.scenario, known, begin)
    return known_water(setting.scenario, begin, setting.today, acts, setting.rain)


def of_paths(setting: Setting, known: Diary, made: Paths) -> Picture:
    """Return a house along paths that were made before."""
    scenario = setting.scenario
    settled_days = float((first_of(known, setting.today) - made.begin).days)
    parts, evidence = parts_of(scenario, settled_days), evidence_of(scenario, known, made)
    found = infer(parts, made, evidence)
    today_days = float((setting.today - made.begin).days + 1)
    ahead = made
    for first, last in setting.away:
        ahead = without_use(ahead, (first - made.begin).days, (last - made.begin).days + 1.0)
    stages = tuple(
        stage_outlook(part, one, ahead, evidence, today_days, due_drop_pa(scenario, part.number))
        for part, one in zip(parts.stages, found.stages, strict=True)
    )
    level = made.end_of("cistern_m3", np.array([today_days - 1.0]))[found.uv.path, 0]
    return Picture(
        parts,
        made,
        evidence,
        found,
        today_days,
        stages,
        uv_outlook(scenario, parts.uv, found.uv, ahead, evidence, today_days),
        precharge(scenario, known, setting.today, HORIZON_DAYS),
        level / scenario.cistern.capacity_m3,
        misfits(parts, made, evidence, found),
    )


def diary_digest(diary: Diary) -> str:
    """Return what names a diary by what counts in it."""
    lines = [*map(str, diary.readings), *map(str, diary.acts)]
    return hashlib.sha256(json.dumps(lines).encode()).hexdigest()[:16]
