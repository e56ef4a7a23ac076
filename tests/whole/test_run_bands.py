"""The demo against what the trade takes for granted. Bands: common practice, no source."""

import dataclasses

import numpy as np
import pytest

from sim.plant import state
from sim.scenario.read.load import load
from sim.twin.run import common_inputs, run

PSI, GPM = 6894.757293168361, 6.30901964e-5
MONTH = 365.25 / 12.0


@pytest.fixture(scope="module")
def demo():
    return load("family_house")


@pytest.fixture(scope="module")
def middling(demo):
    """Inputs of a house whose films grow at the scenario's own rate, with lamps that last."""

    def make(replication, years=2):
        common = common_inputs(demo, replication, 1, years)
        lives = {
            **common.lives,
            "lamp": np.full(64, 50.0),
            "pump": np.full(64, 50.0),
            "bladder": np.full(64, 50.0),
        }
        return dataclasses.replace(common, sleeve_factor=1.0, window_factor=1.0, lives=lives)

    return make


@pytest.fixture(scope="module")
def kept(demo, middling):
    return [run(demo, demo.policies[0], middling(n)) for n in range(2)]


def _life_months(history, stage, demo):
    """Months until the drop at rated flow has risen by the terminal rise; nan when it never does."""
    one = demo.stages[stage]
    share = one.rated_flow_m3_s / demo.gauge.reading_flow_m3_s  # the quadratic part does not change
    rise = (history.drops_pa[:, stage] - history.drops_pa[0, stage]) * share
    past = np.flatnonzero(rise >= one.terminal_rise_pa)
    return past[0] / MONTH if past.size else np.nan


def test_gauge_stays_between_cut_in_and_cut_out(kept):
    for history in kept:
        low = history.days[:365, state.TANK_MIN] >= 39.5 * PSI
        high = history.days[:365, state.TANK_MAX] <= 60.5 * PSI
        # The tank starts empty, and services that drain it and power cuts that empty it are not what the band
        # is about.
        drained = {int(e.time_s // 86400.0) for e in history.events if e.subject == "restore precharge"}
        within = np.array([(low & high)[d] or d in {0} | drained for d in range(365)])
        assert within.mean() > 0.99


def test_sediment_cartridge_lasts_three_to_six_months(demo, middling, policy):
    lives = [_life_months(run(demo, policy(), middling(n, 1)), 0, demo) for n in range(3)]
    assert 3.0 <= np.median(lives) <= 6.0, lives


def test_carbon_behind_a_kept_sediment_stage_lasts_six_to_twelve_months(demo, middling, policy):
    rule = {"task": "change cartridge", "stage": "sediment", "when": "calendar", "every": "4 month"}
    lives = [_life_months(run(demo, policy(rule), middling(n)), 1, demo) for n in range(3)]
    assert 6.0 <= np.median(lives) <= 12.0, lives


def test_unwiped_reading_reaches_sixty_percent_in_two_to_three_months(demo, middling, policy):
    days = [int(np.argmax(run(demo, policy(), middling(n, 1)).uv_reading < 0.60)) for n in range(3)]
    assert 2.0 <= np.median(days) / MONTH <= 3.0, [d / MONTH for d in days]


def test_wiping_both_restores_ninety_five_percent(demo, middling, policy):
    # Against the young lamp and the water of that day: the films alone are what a wipe can mend.
    rules = [{"task": t, "when": "calendar", "every": "60 d"} for t in ("wipe sleeve", "wipe sensor window")]
    gained = []
    for n in range(3):
        common = middling(n, 1)
        common = dataclasses.replace(
            common, adherence=np.zeros_like(common.adherence), delay=np.zeros_like(common.delay)
        )
        wiped, clean = (
            run(demo, policy(*rules), common),
            run(demo, policy(), dataclasses.replace(common, sleeve_factor=1e-9, window_factor=1e-9)),
        )
        gained.append(float((wiped.uv_reading[:100] / clean.uv_reading[:100])[63]))
    assert min(gained) >= 0.95, gained


def test_a_healthy_pump_runs_a_minute(kept):
    for history in kept:
        seconds = np.diff(history.pump_runs_s, axis=1)[1:, 0]
        assert np.mean(seconds >= 60.0) > 0.98, (seconds.min(), np.mean(seconds >= 60.0))
