"""Parts laid along a path against the twin that wears, as long as cartridges hold no water back."""

import dataclasses

import numpy as np
import pytest

from sim.diary.parts import stage, stage_ahead, uv
from sim.diary.paths import Paths
from sim.scenario.care import Policy
from sim.scenario.read.load import load
from sim.scenario.values.variants import spans
from sim.twin import run as twin
from sim.twin.common import common_inputs
from sim.twin.unworn import arrival, unworn
from sim.twin.water import day_step
from sim.twin.water.unpack import pipe_quadratic_pa_s2_m6
from tests.diary import planted

DAYS = 360
NOTHING_READ = stage.Drops(*(np.zeros(0),) * 7)


def made(capacity):
    site = load("family_house")
    plain = unworn(site)  # pump, switch and tank as new in both: here it is about light and cartridges
    kept_uv = site.uv.model_copy(update={"shutoff_valve": False})
    site = plain.model_copy(update={"uv": kept_uv})
    changes = [
        {"capacity_cv": 0.0, "dirt_capacity_kg": capacity * one.dirt_capacity_kg} for one in site.stages
    ]
    stages = [one.model_copy(update=new) for one, new in zip(site.stages, changes, strict=True)]
    site = site.model_copy(update={"stages": tuple(stages)})
    common = common_inputs(site, 0, 7, 1)
    common = dataclasses.replace(common, lives={name: np.full(64, 1e9) for name in common.lives})
    kept, twin.World = twin.World, planted.Noting
    try:
        history = twin.run(site, Policy(name="nobody", heeds_alarm=False), common)
    finally:
        twin.World = kept
    found = arrival(site, common, ())
    pipe = np.array([pipe_quadratic_pa_s2_m6(site)])
    paths = Paths(site.start, found.sums[None], found.ends[None], pipe, "")
    dose = planted.Noting.last.daily[:, day_step.DOSE_FLOW] / site.uv.rated_flow_m3_s
    return site, common, history, dose, paths


@pytest.fixture(scope="module")
def house():
    return made(1.0)


def before_it_clogs(history):
    """Return the number of days before a drop passes 2 psi: from there on people draw otherwise."""
    over = np.flatnonzero((history.drops_pa > 2.0 * planted.PSI).any(axis=1))
    return int(over[0]) - 2


def test_uv_reading_and_dose_are_those_of_the_twin():
    """With cartridges that hold any dirt: one that clogs changes what people draw."""
    site, common, history, dose, paths = made(1e5)
    part = uv.uv_part(site, {})
    draws = part.draws(np.zeros((1, len(part.axes))))
    draws["sleeve_per_s"] = np.array([site.uv.sleeve_film_per_s * common.sleeve_factor])
    draws["window_per_s"] = np.array([site.uv.window_film_per_s * common.window_factor])
    services = [(0.0, code) for code in (uv.LAMP, uv.CARBON)]
    for name in ("sleeve_head_s", "window_head_s", "lamp_head_s"):
        draws[name] = np.zeros(1)
    moments = uv.moments([], services)
    _, states, _ = uv.logs(part, draws, np.zeros(1, np.int64), moments, paths, np.zeros(0))
    # the end of a day belongs to the day: a moment before midnight
    at = np.arange(1, DAYS) + 1.0 - 1e-9
    light, doses = uv.ahead(part, draws, np.zeros(1, np.int64), states, paths, at)
    # a tanker that comes at midnight is noted with the day before by the one, with the day after by the other
    tankers = {round(event.time_s / planted.DAY) for event in history.events if event.kind == "tanker"}
    plain = [day - 1 for day in range(1, DAYS) if day + 1 not in tankers]
    assert len(plain) >= DAYS - 5
    assert np.abs(light[0] - history.uv_reading[1:DAYS])[plain].max() < 1e-6  # 1e-10 until the first tanker
    assert np.abs(doses[0] / dose[1:DAYS] - 1.0)[plain].max() < 1e-6
    # it bends: a reading that stood still would pass nothing
    assert history.uv_reading[1] - history.uv_reading[DAYS - 1] > 0.3


def test_drops_are_those_of_the_twin_until_they_hold_water_back(house):
    site, _, history, _, paths = house
    found = {span.key: span for span in spans(site)}
    for k in range(len(site.stages)):
        part = stage.stage_part(site, k, {key: s for key, s in found.items() if "gauge" in key})
        draws = part.draws(np.zeros((1, len(part.axes))))
        path = np.zeros(1, np.int64)
        days = np.arange(1, DAYS) + 1.0 - 1e-9
        new = np.array([[0.0, 1.0]])
        load = stage_ahead.load_at(part, draws, path, paths, NOTHING_READ, new, days)
        thick = stage.thicker(paths.end_of("water_c", days))
        drops = [
            stage_ahead.drops_now(part, draws, path, paths, load[:, day], thick[:, day])[0]
            for day in range(days.size)
        ]
        true = history.drops_pa[1:DAYS, k]
        early = np.arange(true.size) < before_it_clogs(history)
        gap = np.abs(np.array(drops) - true)[early]
        assert gap.max() < 0.5 * planted.PSI and np.median(gap) < 0.05 * planted.PSI
        assert true[early].max() - true[0] > 0.1 * planted.PSI


def test_a_rinse_takes_a_share_of_the_load(house):
    site, _, _, _, paths = house
    part = stage.stage_part(site, 0, {})
    at, day = np.array([200.0]), 100.0
    whole = stage.along(part, paths, at, np.array([[0.0, 1.0]]))
    rinsed = stage.along(part, paths, at, np.array([[0.0, 1.0], [day, 0.4]]))
    by_then = paths.sum_at(0, np.array([day]))[0, 0]
    assert rinsed.base[0, 0] - whole.base[0, 0] == pytest.approx(0.4 * by_then)
    unknown = stage.along(part, paths, at, np.array([[day, 0.4]]))
    assert unknown.fresh[0] == pytest.approx(0.4)


@pytest.mark.parametrize("other_psi", [0.0, 12.0, 25.0, 31.0])
def test_a_clogged_stage_beside_it_leaves_a_drop_less_pressure(other_psi):
    """The flow at which both drops, pipe and unit take all there is, found here by bisection."""
    site = load("family_house")
    part = stage.stage_part(site, 0, {})
    draws = part.draws(np.zeros((1, len(part.axes)))) | {"hidden": np.array([0.99])}
    draws = {name: np.asarray(values) for name, values in draws.items()}
    load_share, one = 0.8, np.ones(1)
    paths = Paths(site.start, np.zeros((1, 800, 7)), np.zeros((1, 799, 5)), np.zeros(1), "")
    paths.sums[0, :, 5] = np.linspace(0.0, load_share * draws["capacity"][0] * 799 / 400, 800)
    paths.ends[:] = 20.0

    def own(flow):
        known = (draws[name][0] for name in (*stage.FIELDS[:2], *stage.FIELDS[3:6]))
        return stage.drop_pa(load_share, 1.0, *known, flow, 1e9, 0.0, 0.0)

    def rest(flow):
        return part.others_pa_s_m3 * flow + part.others_pa_s2_m6 * flow**2

    clean = rest(part.reading_flow_m3_s)
    other_pa = clean + other_psi * planted.PSI
    low, high = 0.0, part.reading_flow_m3_s
    for _ in range(60):
        flow = 0.5 * (low + high)
        whole = own(flow) + rest(flow) + other_psi * planted.PSI
        low, high = (flow, high) if whole < part.spare_pa else (low, flow)
    none, unsaid = np.zeros(1), np.full(1, np.nan)
    read = stage.Drops(400.0 * one, none, none, unsaid, one, one * other_pa, np.zeros(0))
    along = stage.along(part, paths, read.at_days, np.array([[0.0, 1.0]]))
    _, expected = stage.logs(
        part, draws, np.zeros(1, np.int64), along, read, paths, np.ones((2, 1)), keep=True
    )
    assert expected[0, 0] == pytest.approx(own(low), rel=1e-3)
