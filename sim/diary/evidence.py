"""The diary of a house laid out as the parts take it: times since a begin, in SI, in order."""

import math
from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta

import numpy as np

from sim.constants import DAY_S
from sim.diary.book import Diary
from sim.diary.entries import Act, Reading, days_since
from sim.diary.infer import Evidence
from sim.diary.parts import stage as stages
from sim.diary.parts import uv
from sim.diary.parts.axes import SETTLING_DAYS, Floats
from sim.diary.parts.unnoted import by_falls
from sim.diary.paths import Paths
from sim.scenario.effects import TaskEffect
from sim.scenario.scenario import Scenario
from sim.twin.unworn import for_water

LEVEL_SD_M = 0.02  # of a stick [A]
LEVEL_SHARE = 0.1  # of the depth: what a path with its own taps and roof misses of this house [A]
METER_SHARE = 0.05  # of the volume: the same of a meter, which itself reads within 2 % [A]
MOST_LEVELS = 4  # levels that count, the last ones: they lie much alike
# Read, kept, and of no weight so far: nothing in the state follows from them.
UNUSED = ("seconds to fill", "sample", "pressure at")


def unused(readings: Sequence[Reading]) -> tuple[str, ...]:
    """Return what was read that has no weight."""
    return tuple(dict.fromkeys(one.observed for one in readings if one.observed.startswith(UNUSED)))


def first_of(diary: Diary, today: date) -> date:
    """Return the day of the first line of a diary, today where there is none."""
    firsts = [one.at.date() for one in diary.readings] + [one.at.date() for one in diary.acts]
    first: date = min([*firsts, today])
    return first


def begin_of(diary: Diary, today: date) -> date:
    """Return the first day of the paths of a diary."""
    return first_of(diary, today).replace(day=1) - timedelta(days=SETTLING_DAYS)


def water_acts(scenario: Scenario, diary: Diary, begin: date) -> tuple[tuple[float, str], ...]:
    """Return the acts that change what arrives at the train: time since the begin [s] and task."""
    bound = {task.name for task in scenario.tasks if for_water(task)}
    return tuple((days_since(begin, act.at) * DAY_S, act.task) for act in diary.acts if act.task in bound)


def evidence_of(scenario: Scenario, diary: Diary, paths: Paths) -> Evidence:
    """Return what a diary says, as the parts take it."""
    begin = paths.begin
    names = scenario.stage_names
    renewed = tuple(_renewals(scenario, diary.acts, name, begin) for name in names)
    return Evidence(
        tuple(_drops(diary.readings, name, begin, one) for name, one in zip(names, renewed, strict=True)),
        renewed,
        _moments(scenario, diary, begin),
        of_paths(scenario, diary.readings, paths),
    )


def effects_of(scenario: Scenario, act: Act) -> tuple[TaskEffect, ...]:
    """Return what an act left behind."""
    task = scenario.task(act.task)
    return task.effects if task is not None else ()


def _drops(readings: Sequence[Reading], name: str, begin: date, renewals: Floats) -> stages.Drops:
    found = [one for one in readings if one.stage == name]
    flow = np.array([one.flow_m3_s for one in found])
    beside: dict[datetime, list[float]] = {}
    for one in readings:
        if one.stage and one.stage != name:
            beside.setdefault(one.at, []).append(one.value)
    at_days = np.array([days_since(begin, one.at) for one in found])
    drop_pa = np.array([one.value for one in found])
    return stages.Drops(
        at_days,
        drop_pa,
        np.array([one.step for one in found]),
        np.where(flow > 0.0, flow, np.nan),
        np.array([float(one.gauges) for one in found]),
        np.array([sum(beside[one.at]) if one.at in beside else math.nan for one in found]),
        by_falls(at_days, drop_pa, renewals[:, 0]),
    )


def _renewals(scenario: Scenario, acts: Sequence[Act], name: str, begin: date) -> Floats:
    found = []
    for act in acts:
        if act.stage == name:
            effects, task = effects_of(scenario, act), scenario.task(act.task)
            if "new cartridge" in effects:
                found.append((days_since(begin, act.at), 1.0))
            elif "rinsed cartridge" in effects and task is not None:
                found.append((days_since(begin, act.at), task.share))
    return np.array(found, dtype=np.float64).reshape(-1, 2)


def _moments(scenario: Scenario, diary: Diary, begin: date) -> uv.Moments:
    kinds = {"UV": uv.READ, "UV alarm": uv.ALARM, "lamp hours": uv.HOURS}
    readings = [
        (days_since(begin, one.at), kinds[one.observed], one.value, one.step)
        for one in diary.readings
        if one.observed in kinds
    ]
    return uv.moments(readings, list(_services(scenario, diary.acts, begin)))


def _services(scenario: Scenario, acts: Sequence[Act], begin: date) -> Iterator[tuple[float, int]]:
    beds = [stage.name for stage in scenario.stages if stage.carbon_bed_m3 > 0.0]
    for act in acts:
        for effect in effects_of(scenario, act):
            if effect in uv.CODES:
                yield days_since(begin, act.at), uv.CODES[effect]
            elif effect == "new cartridge" and act.stage in beds[:1]:
                yield days_since(begin, act.at), uv.CARBON


def of_paths(scenario: Scenario, readings: Sequence[Reading], paths: Paths) -> Floats:
    """Return the log likelihood of each path by what no part bears on: meter and level of the cistern."""
    return _by_meter(readings, paths) + _by_level(scenario, readings, paths)


def _by_meter(readings: Sequence[Reading], paths: Paths) -> Floats:
    """Weigh the whole volume between the first reading and the last; a meter that fell began anew."""
    found = [one for one in readings if one.observed == "meter"]
    start = 0
    for k in range(1, len(found)):
        start = k if found[k].value < found[k - 1].value else start
    if len(found) - start < 2:
        return np.zeros(paths.count)
    first, last = found[start], found[-1]
    read_m3 = last.value - first.value
    at = np.array([days_since(paths.begin, first.at), days_since(paths.begin, last.at)])
    passed = paths.sum_at("house_m3", at)
    path_m3 = passed[:, 1] - passed[:, 0]
    if read_m3 <= 0.0:
        return np.zeros(paths.count)
    return _log_t4(np.log(np.maximum(path_m3, 1e-6) / read_m3), METER_SHARE)


def _by_level(scenario: Scenario, readings: Sequence[Reading], paths: Paths) -> Floats:
    store = scenario.cistern
    depth_m = store.capacity_m3 / store.floor_m2
    metres = {"cistern level": 1.0, "cistern share": depth_m}
    found = [one for one in readings if one.observed in metres][-MOST_LEVELS:]
    if not found:
        return np.zeros(paths.count)
    at = np.array([days_since(paths.begin, one.at) for one in found])
    read_m = np.array([one.value * metres[one.observed] for one in found])
    level_m = paths.end_of("cistern_m3", at) / store.floor_m2
    scale_m = math.hypot(LEVEL_SD_M, LEVEL_SHARE * depth_m) * math.sqrt(len(found))
    return np.asarray(_log_t4(level_m - read_m, scale_m).sum(axis=1))


def _log_t4(off: Floats, scale: float) -> Floats:
    """Return the log density of Student's t with 4 degrees of freedom, up to a constant."""
    return np.asarray(-2.5 * np.log1p(0.25 * (off / scale) ** 2))
