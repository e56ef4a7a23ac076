"""Planted houses: the truth is known, its readings are made with scatter, misreads and rounding."""

import dataclasses
from dataclasses import dataclass
from datetime import datetime, time, timedelta

import numpy as np

from sim.diary.book import Diary
from sim.diary.entries import Act, Reading
from sim.scenario.care import Policy
from sim.scenario.values.variants import seed_of, sites, spans
from sim.twin import run as twin
from sim.twin.common import common_inputs
from sim.twin.water import day_step
from sim.twin.world import World

PSI = 6894.757293168361
DAY = 86400.0


@dataclass(frozen=True)
class Truth:
    """What a house was: readings without error at the end of every day, and when nobody came any more."""

    drops_pa: np.ndarray  # (days, stages)
    light: np.ndarray
    dose_j_m2: np.ndarray  # at rated flow
    acts: tuple  # (day, task, stage)
    left_day: float  # nobody serves from here on
    gauge_sd_pa: float
    light_sd: float
    site: object
    chances: tuple = ()  # root and visits every so many days, to run it again


TRAIN = ("change cartridge", "wipe sleeve", "wipe sensor window", "replace lamp")


def policy(every_days, left_days):
    """Everything at the train is done at one visit, until nobody comes; gutters are cleared."""
    often = {"when": "calendar", "every": f"{every_days} d"}
    rules = [{"task": "change cartridge", "stage": name, **often} for name in ("sediment", "carbon")]
    rules += [{"task": task, **often} for task in ("wipe sleeve", "wipe sensor window")]
    rules += [{"task": "replace lamp", "when": "calendar", "every": "365 d"}]
    rules += [{"task": "clear gutters and diverter", "when": "calendar", "every": "91.3125 d"}]
    skips = [{"task": task, "from": f"{left_days} d"} for task in TRAIN]
    return Policy.model_validate({"name": "visits", "heeds_alarm": False, "rule": rules, "skip": skips})


class Noting(World):
    """A world that is still at hand when its run is over, for the dose at the end of every day."""

    def note_day(self, day):
        super().note_day(day)
        Noting.last = self


def forked(common, other, day):
    """Let weather, draws and power cuts be of other chances from a day on; the house stays what it is."""
    time_s = day * DAY
    first, then = common.draws.start_s < time_s, other.draws.start_s >= time_s
    draws = {
        field.name: np.append(
            getattr(common.draws, field.name)[first], getattr(other.draws, field.name)[then]
        )
        for field in dataclasses.fields(common.draws)
    }
    before, after = common.cuts_s[:, 1] < time_s, other.cuts_s[:, 0] >= time_s
    return dataclasses.replace(
        common,
        rain_m=np.append(common.rain_m[:day], other.rain_m[day:]),
        draws=type(common.draws)(**draws),
        cuts_s=np.vstack([common.cuts_s[before], other.cuts_s[after]]),
    )


def truth(site, root, every_days, left_days, years, fork=None):
    """Run a house by the twin; its lamp, pump and tank do not fail. A fork is a day and another root."""
    common = common_inputs(site, 0, root, years)
    if fork is not None:
        common = forked(common, common_inputs(site, 0, fork[1], years), fork[0])
    common = dataclasses.replace(common, lives={name: np.full(64, 1e9) for name in common.lives})
    kept, twin.World = twin.World, Noting
    try:
        history = twin.run(site, policy(every_days, left_days), common)
    finally:
        twin.World = kept
    acts = tuple(
        (event.time_s / DAY, *[*event.subject.split(": "), ""][:2])
        for event in history.events
        if event.kind == "task"
    )
    return Truth(
        history.drops_pa,
        history.uv_reading,
        Noting.last.daily[:, day_step.DOSE_FLOW] / site.uv.rated_flow_m3_s,
        acts,
        left_days,
        site.gauge.reading_sd_pa,
        site.gauge.uv_reading_sd,
        site,
        (root, every_days),
    )


def futures(house, today_day, count, years):
    """Run the very house on from a day, as it stands, with weather and draws of other chances."""
    root, every = house.chances
    for number in range(count):
        other = seed_of(root, 1_000_000 + number)
        yield truth(house.site, root, every, house.left_day, years, (int(today_day), other))


def with_slips(site):
    """Let people miss steps, as the site says they do."""
    slips = site.people.slips.model_copy(update={"on": True})
    return site.model_copy(update={"people": site.people.model_copy(update={"slips": slips})})


def truths(scenario, count, seed, years=5, change=None):
    """Planted houses of sampled sites, changed by their number where that is asked for."""
    rng = np.random.default_rng(seed)
    found = []
    for one in sites(scenario, spans(scenario), count, seed):
        every = float(rng.integers(60, 200))
        visits = int(rng.integers(0, 4))
        left = every * visits + 35.0 if visits else 0.5
        site = one.scenario if one.number % 2 else with_slips(one.scenario)
        site = site if change is None else change(site, one.number)
        found.append(truth(site, seed_of(seed, one.number), every, left, years))
    return found


def rounded(values, step):
    return np.round(np.asarray(values) / step) * step


@dataclass(frozen=True)
class Plan:
    """When people read."""

    drops_every: float = 28.0
    light_every: float = 14.0
    stated: bool = False
    misreads: float = 0.03


def readings(house, until_day, rng, plan):
    """Make readings up to a day: flow within 10 %, the gauge's own scatter, 3 % gross misreads."""
    days = np.arange(plan.drops_every, until_day, plan.drops_every)
    at = days.astype(int) - 1
    drops = []
    for k in range(house.drops_pa.shape[1]):
        flow = np.exp((0.03 / 1.3 if plan.stated else 0.1) * rng.standard_normal(at.size))
        read = house.drops_pa[at, k] * flow**1.3 + house.gauge_sd_pa * rng.standard_normal(at.size)
        read = np.maximum(rounded(read, 0.5 * PSI), 0.0)
        wrong = rng.random(at.size) < plan.misreads
        gross = np.where(
            rng.random(at.size) < 0.6, rounded(rng.uniform(0, 40, at.size) * PSI, PSI), read * 6.894757
        )
        drops.append((days - 1e-3, np.where(wrong, gross, read)))
    days = np.append(1.0, np.arange(plan.light_every, until_day, plan.light_every))  # noted when it was new
    at = days.astype(int) - 1
    light = np.maximum(rounded(house.light[at] + house.light_sd * rng.standard_normal(at.size), 0.01), 0.0)
    light = np.where(
        rng.random(at.size) < plan.misreads, rounded(rng.uniform(0.0, 1.1, at.size), 0.01), light
    )
    return drops, (days - 1e-3, light)


def diary(house, until_day, rng, plan):
    """Write the diary of a house up to a day: new on the first day, then what was read and what was done."""
    start = house.site.start
    drops, (light_days, light) = readings(house, until_day, rng, plan)
    found = []
    for name, (days, read) in zip(house.site.stage_names, drops, strict=True):
        flow = house.site.gauge.reading_flow_m3_s if plan.stated else 0.0
        found += [
            Reading(at(start, day), f"drop over {name}", float(value), 0.5 * PSI, flow)
            for day, value in zip(days, read, strict=True)
        ]
    found += [
        Reading(at(start, day), "UV", float(value), 0.01)
        for day, value in zip(light_days, light, strict=True)
    ]
    acts = [Act(at(start, 0.0), "change cartridge", name) for name in house.site.stage_names]
    acts += [Act(at(start, 0.0), task) for task in TRAIN[1:]]
    acts += [Act(at(start, day), task, stage) for day, task, stage in house.acts if day < until_day]
    kept = [act for act in acts if act.task in TRAIN]
    return Diary(tuple(sorted(found)), tuple(sorted(kept)))


def at(start, day):
    return datetime.combine(start, time()) + timedelta(days=float(day))


HORIZON = 730


def event_day(series, over, start):
    """First day at or after a start on which a limit is passed, or None."""
    passed = np.flatnonzero(over(series[start:]))
    return start + int(passed[0]) if passed.size else None
