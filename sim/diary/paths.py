"""Paths: what may have arrived at the train, from sampled sites that never wear; kept on disk."""

import hashlib
import io
import json
import math
import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np
import numpy.typing as npt

from sim.constants import DAY_S, YEAR_DAYS
from sim.disk import prepare, settle
from sim.errors import InputError
from sim.pool import Pool
from sim.scenario.read.series import RainRecord
from sim.scenario.scenario import Scenario
from sim.scenario.values.digest import digest
from sim.scenario.values.variants import seed_of, sites, spans
from sim.twin.common import common_inputs
from sim.twin.unworn import ENDS, SUMS, Arrival, arrival, for_water
from sim.twin.water.unpack import pipe_quadratic_pa_s2_m6
from sim.version import program_version

Floats = npt.NDArray[np.float64]
COUNT = 256  # a power of two, so that draws of parts are spread evenly over the paths
AHEAD_DAYS = 365  # simulated beyond the last day asked for; the years after repeat the last one
_SEED = 20_000_003  # keeps the chances of paths apart from those of any study, whose roots are small
_FEW = 16  # run while processes for them are started
_TASK_DAYS = 90  # length grows in such steps, so that a week later the same paths still serve


@dataclass(frozen=True)
class Water:
    """What bears on the water before the train: begin, acts and rain as known on a day."""

    begin: date
    acts: tuple[tuple[float, str], ...]  # time since the begin [s], task
    rain: RainRecord | None  # nothing after the day it is for


@dataclass(frozen=True)
class Paths:
    """What arrived, by path.

    Attributes
    ----------
    begin : date
        First day.
    sums : ndarray
        As in `sim.twin.unworn.Arrival`, shape (paths, days + 1, 5 + stages).
    ends : ndarray
        Shape (paths, days, 5).
    pipe_quadratic : ndarray
        Of pipe and fittings, by path [Pa s2/m6].
    key : str
        Names site, program, rain and acts they were made of.
    """

    begin: date
    sums: Floats
    ends: Floats
    pipe_quadratic: Floats
    key: str

    @property
    def count(self) -> int:
        """Number of paths."""
        return int(self.sums.shape[0])

    @property
    def days(self) -> int:
        """Days of a path."""
        return int(self.ends.shape[1])

    def sum_at(self, name: str | int, at_days: Floats) -> Floats:
        """Return a running sum at times, shape (paths, times); the last year repeats beyond the end.

        Parameters
        ----------
        name : str or int
            One of `SUMS`, or the number of a stage.
        at_days : ndarray
            Days since the begin, shape (times,).
        """
        column = SUMS.index(name) if isinstance(name, str) else len(SUMS) + name
        whole, times = self.sums[:, :, column], np.asarray(at_days, dtype=np.float64)
        years = np.ceil(np.maximum(times - self.days, 0.0) / AHEAD_DAYS)
        inside = np.maximum(times - years * AHEAD_DAYS, 0.0)
        low = np.minimum(inside.astype(np.int64), self.days - 1)
        share = inside - low
        found = whole[:, low] * (1.0 - share) + whole[:, low + 1] * share
        year = whole[:, -1] - whole[:, self.days - AHEAD_DAYS]
        return np.asarray(found + years * year[:, None])

    def end_of(self, name: str, at_days: Floats) -> Floats:
        """Return what stood at the end of the days of some times, shape (paths, times).

        Parameters
        ----------
        name : str
            One of `ENDS`.
        at_days : ndarray
            Days since the begin, shape (times,).
        """
        times = np.asarray(at_days, dtype=np.float64)
        years = np.ceil(np.maximum(times - self.days + 1.0, 0.0) / AHEAD_DAYS)
        day = np.clip((times - years * AHEAD_DAYS).astype(np.int64), 0, self.days - 1)
        return np.asarray(self.ends[:, day, ENDS.index(name)])


def known_water(
    scenario: Scenario, begin: date, today: date, acts: Sequence[tuple[float, str]], rain: RainRecord | None
) -> Water:
    """Return what bears on the water as known on a day, with rain up to there.

    Notes
    -----
    Where the diary is silent, gutters and cistern are taken to be cleared as the first policy of the site
    says, counted from the last time that was noted.
    """
    last_s = (today - begin).days * DAY_S
    bound = [task.name for task in scenario.tasks if for_water(task)]
    logged = [act for act in acts if act[1] in bound and act[0] <= last_s + DAY_S]
    found = list(logged)
    for task in bound:
        every_s = next(
            (r.every_s for r in scenario.policies[0].rules if r.task == task and r.when == "calendar"),
            math.inf,
        )
        start_s = max((time_s for time_s, name in logged if name == task), default=0.0)
        if math.isfinite(every_s):
            whole_s = 360.0 * DAY_S  # so that a day later it is the same water
            end_s = math.ceil((last_s + 2.0 * YEAR_DAYS * DAY_S) / whole_s) * whole_s
            found += [(start_s + k * every_s, task) for k in range(1, int((end_s - start_s) / every_s) + 1)]
    return Water(begin, tuple(sorted(found)), _cut(rain, today))


def _cut(rain: RainRecord | None, today: date) -> RainRecord | None:
    """Return a rain record without the days ahead, which nobody knows."""
    if rain is None:
        return None
    known = rain.dates <= np.datetime64(today, "D")
    if not known.any():
        return None
    dates, depth_m = rain.dates[known], rain.depth_m[known]
    name = hashlib.sha256(dates.tobytes() + depth_m.tobytes()).hexdigest()
    return RainRecord(dates, depth_m, name)


def paths(
    scenario: Scenario,
    water: Water,
    today: date,
    folder: Path,
    workers: int = 2,
    count: int = COUNT,
    on_progress: Callable[[int, int], None] = lambda _done, _of: None,
) -> Paths:
    """Return the paths of a house, from disk where they were made before.

    Parameters
    ----------
    folder : Path
        Where paths are kept.
    workers : int
        Processes, >= 1.
    """
    before = kept(scenario, water, today, folder, count)
    if before is not None:
        return before
    key, wanted = _key(scenario, water, count), (today - water.begin).days + 1
    steps = math.ceil((wanted + AHEAD_DAYS) / _TASK_DAYS)
    made = _made(scenario, water, steps * _TASK_DAYS, count, workers, on_progress)
    found = Paths(
        water.begin,
        _kept_as([one.sums for one, _ in made]),
        _kept_as([one.ends for one, _ in made]),
        np.array([quadratic for _, quadratic in made]),
        key,
    )
    _write(prepare(folder) / f"paths-{key}.npz", found)
    return found


def kept(scenario: Scenario, water: Water, today: date, folder: Path, count: int = COUNT) -> Paths | None:
    """Return the paths of a house where they were made before and reach beyond a day."""
    key = _key(scenario, water, count)
    found = _read(folder / f"paths-{key}.npz", water.begin, key)
    return found if found is not None and found.days >= (today - water.begin).days + 2 else None


def _kept_as(arrays: Sequence[Floats]) -> Floats:
    """Return arrays as they are read back, so that the first answer is the one of every later time."""
    return np.stack(arrays).astype(np.float32).astype(np.float64)


def _key(scenario: Scenario, water: Water, count: int) -> str:
    rain = water.rain.digest if water.rain is not None else ""
    content = [program_version(), digest(scenario), str(water.begin), water.acts, rain, count]
    return hashlib.sha256(json.dumps(content).encode()).hexdigest()[:24]


Job = tuple[Scenario, int, int, Water]


def _made(
    scenario: Scenario,
    water: Water,
    days: int,
    count: int,
    workers: int,
    on_progress: Callable[[int, int], None],
) -> list[tuple[Arrival, float]]:
    """Run the sampled sites, in processes of their own where there is enough to do for more than one."""
    here = scenario.model_copy(update={"start": water.begin})
    drawn = sites(here, spans(here), count, _SEED)
    jobs: list[Job] = [(one.scenario, seed_of(_SEED, one.number), days, water) for one in drawn]
    found = []
    if workers < 2 or count <= _FEW:
        for job in jobs:
            found.append(_one(job))
            on_progress(len(found), count)
        return found
    pool = Pool(workers)
    try:
        for one in pool.map(_one, jobs, chunksize=max(1, count // (8 * workers))):
            found.append(one)
            on_progress(len(found), count)
    finally:
        pool.shutdown(cancel_futures=True)
    return found


def _one(job: Job) -> tuple[Arrival, float]:
    site, root, days, water = job
    years = math.ceil((days + 1) / 365.0)
    common = common_inputs(site, 0, root, years, _long_enough(water.rain))
    if water.rain is not None:
        common.rain_m[: common.n_days] = _with_record(common.rain_m, water)
    return arrival(site, common, water.acts, days), pipe_quadratic_pa_s2_m6(site)


def _long_enough(rain: RainRecord | None) -> RainRecord | None:
    """Return the record where its other years can stand for the time ahead; else the climate must."""
    if rain is None:
        return None
    years = rain.dates.astype("datetime64[Y]").astype(int) + 1970
    whole = [year for year in np.unique(years) if (years == year).sum() >= 365]
    return rain if len(whole) >= 3 else None


def _with_record(rain_m: Floats, water: Water) -> Floats:
    """Return rain that is the record's where it has been recorded."""
    assert water.rain is not None
    found = rain_m.copy()
    day = (water.rain.dates - np.datetime64(water.begin, "D")).astype(int)
    inside = (day >= 0) & (day < found.size)
    found[day[inside]] = water.rain.depth_m[inside]
    return found


def _write(path: Path, found: Paths) -> None:
    buffer = io.BytesIO()
    np.savez(
        buffer,
        sums=found.sums.astype(np.float32),
        ends=found.ends.astype(np.float32),
        pipe_quadratic=found.pipe_quadratic,
    )
    waiting = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        waiting.write_bytes(buffer.getvalue())
        settle(waiting)
        os.replace(waiting, path)
    except OSError as error:
        raise InputError(f"{path.parent} cannot be written to: {error.strerror}") from error
    finally:
        waiting.unlink(missing_ok=True)


def _read(path: Path, begin: date, key: str) -> Paths | None:
    """Return paths kept before, or None where there are none that can be read."""
    try:
        with np.load(path, allow_pickle=False) as kept:
            arrays = {name: kept[name].astype(np.float64) for name in ("sums", "ends", "pipe_quadratic")}
    except (OSError, ValueError, KeyError, EOFError):
        return None
    return Paths(begin, arrays["sums"], arrays["ends"], arrays["pipe_quadratic"], key)
