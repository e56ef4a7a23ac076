"""The figures of a run, worked out by hand from a history written by hand."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from sim.outcome.causes import cause_of_days
from sim.outcome.measures import below_target_days, row
from sim.plant import cause, draws, state
from sim.twin.history import Balance, History
from sim.twin.records import Costs, Lapse

YEARS, DAYS = 2, 4
DAY_S = 86400.0
LAPSES = (
    Lapse("slip", "unit left unplugged", ("dose",), 1.2 * DAY_S, noticed_s=1.5 * DAY_S, end_s=1.9 * DAY_S),
    Lapse("slip", "valve left shut", ("water",), 0.1 * DAY_S, end_s=0.2 * DAY_S),
    Lapse("put off", "wipe sleeve", ("dose",), 2.1 * DAY_S),
)


@pytest.fixture
def history(tiny):
    """Four days that stand for two years, every number our own."""
    scenario = tiny(
        goals={"below_target_volume": "1 L"},
        uv={"power": "50 W"},
        prices={"electricity_kwh": 0.20, "mains_m3": 4.0},
        cistern={"floor": "3 m2", "intake": "0.1 m"},
    )
    days = state.new_days(DAYS)
    days[:, state.SUPPLIED] = [0.1, 0.2, 0.3, 0.4]
    days[:, state.UNMET] = [0.0, 0.01, 0.0, 0.03]
    days[:, state.UNMET_DRAWS] = [0, 2, 0, 4]
    days[:, state.BELOW_TARGET] = [0.001, 0.0011, 0.5, 0.0]  # the first is at the limit, not beyond it
    days[:, state.DOSE_LEAST] = [np.inf, 350.0, 20.0, 500.0]  # no water flowed on the first
    days[:, state.WATER_OFF] = [3600.0, 0.0, 1800.0, 0.0]
    days[:, state.ALARM] = [0.0, 7200.0, 0.0, 900.0]
    days[:, state.LOW_LIGHT] = [0.0, 1800.0, 3600.0, 0.0]
    days[:, state.LOW_PRESSURE] = [60.0, 0.0, 0.0, 180.0]
    days[:, state.STARTS] = [10, 12, 8, 14]
    days[:, state.SHORT_RUNS] = [1, 0, 0, 5]
    days[:, state.LONGEST_RUN] = [100.0, 300.0, 50.0, 20.0]
    causes = cause.new_causes(DAYS)
    # The second day: a power cut and an unplugged unit, more by the unit. The third: a dead lamp, and as many
    # litres of film, so the lower code. The first stays at the limit.
    causes[0, cause.FLOW, cause.LITRES] = 0.001
    causes[1, [cause.POWER_CUT, cause.UNPLUGGED], cause.LITRES] = [0.0003, 0.0008]
    causes[2, [cause.LAMP_DIED, cause.FILM], cause.LITRES] = [0.25, 0.25]
    causes[0, cause.VALVE_SHUT, cause.OFF], causes[2, cause.CLOGGED, cause.OFF] = 3600.0, 1800.0
    causes[1, cause.FILM, cause.ALARM], causes[3, cause.LAMP_DIED, cause.ALARM] = 7200.0, 900.0
    costs = Costs(
        parts=100.0, labour=30.0, callouts=90.0, water=200.0, owner_s=5400.0, cartridges=6, visits=2,
        tanker_loads=4, samples=4, finds=2,
    )  # fmt: skip
    blank = np.zeros(DAYS)
    return History(
        scenario=scenario, policy="by hand", replication=7, years=YEARS, n_days=DAYS, start=date(2021, 1, 1),
        stage_names=("sediment", "carbon"), use_names=("tap",),
        draws=np.zeros(0, draws.DRAW), use=np.zeros(0, np.int16), pump_runs_s=np.zeros((0, 2)), days=days,
        causes=causes,
        rain_m=blank, cistern_m3=np.array([0.3, 0.3 + 1e-10, 0.31, 4.0]),
        overflow_m3=np.array([0.0, 1.0, 2.0, 0.0]),
        mains_m3=np.array([0.0, 0.5, 1.5, 0.0]), uv_reading=blank, water_c=blank, absorbance_per_m=blank,
        drops_pa=np.zeros((DAYS, 2)), alarm_days=np.array([False, True, False, False]),
        cut_days=np.array([False, False, True, False]), lapses=LAPSES,
        dose_volume_m3=np.zeros(state.DOSE_BINS), events=(), costs=costs, parts={},
        stage_life_left=np.array([0.25, 1.0]), lamp_life_left=0.4, alarms=6, false_alarms=4,
        pump_j=7.2e6, lit_s=3600.0 * 100.0,
        balances=(
            Balance("water", 10.0, 0.0, 5.0, 0.0, 0.0, 4.0), Balance("colour", 1.0, 0.0, 0.0, 0.0, 0.0, 1.0)
        ),
        trace=np.zeros((0, 4)),
    )  # fmt: skip


def test_a_day_counts_only_beyond_the_stated_volume(history):
    assert below_target_days(history).tolist() == [False, True, True, False]


BY_HAND = {
    "replication": 7,
    "years": 2.0,
    "cost_parts": 50.0,
    # Three quarters of an 18 cartridge and six tenths of a 95 lamp are used up; the carbon is new.
    "cost_part_life": (0.75 * 18.0 + 0.6 * 95.0) / 2,
    "cost_labour": 15.0,
    "cost_callouts": 45.0,
    # 2 kWh of pumping and 5 kWh of lamp at 0.20.
    "cost_energy": 0.2 * 7.0 / 2,
    "cost_water": (200.0 + 4.0 * 2.0) / 2,  # tankers, and 2 m3 of mains
    "cost": (100.0 + 70.5 + 30.0 + 90.0 + 1.4 + 208.0) / 2,
    "water_off_h": 0.75,
    "water_off_home_h": 0.0,  # nobody drew water
    "unusable_days": 0.0,
    "unusable_from_day": np.nan,  # there was none
    "alarm_h": 1.125,
    "low_light_h": 0.75,
    "days_below_target": 1.0,
    "silent_days": 0.5,  # the alarm spoke on one of the two
    "volume_below_target_m3": (0.001 + 0.0011 + 0.5) / 2,
    "least_dose_j_m2": 20.0,
    "alarms": 3.0,
    "false_alarms": 2.0,
    "low_pressure_min": 2.0,
    "cistern_empty_days": 1.0,  # two days at the intake, 0.1 m over 3 m2
    "overflow_m3": 1.5,
    "tanker_loads": 2.0,
    "supplied_m3": 0.5,
    "unmet_m3": 0.02,
    "unmet_draws": 3.0,
    "pump_starts": 22.0,
    "short_runs": 3.0,
    "longest_run_s": 300.0,
    "pump_kwh": 1.0,
    "uv_kwh": 2.5,
    "cartridges": 3.0,
    "visits": 1.0,
    "owner_h": 0.75,
    "ledger_error": 0.1,
    "people_days_below_target": 0.5,
    "people_water_off_h": 0.5,
    "slips": 1.0,
    "slips_noticed": 0.5,
    "openings_under_pressure": 0.0,
    "tasks_put_off": 0.5,
    "samples": 2.0,
    "samples_with_finds": 1.0,
    "days_by_unplugged_unit": 0.5,
    "days_by_lamp_died": 0.5,
    "days_by_film": 0.0,
    "days_by_power_cut": 0.0,
    "alarm_h_by_film": 1.0,
    "alarm_h_by_lamp_died": 0.125,
    "water_off_h_by_forgotten_valve": 0.5,
    "water_off_h_by_clogged": 0.25,
    "days_of_two_causes": 0.5,  # the third
    "days_expected": 1.0,  # nothing was asked for: as seen
}


def test_a_day_has_the_cause_of_most_of_its_litres_and_the_lower_of_two(history):
    assert cause_of_days(history).tolist() == [cause.NONE, cause.UNPLUGGED, cause.LAMP_DIED, cause.NONE]


def test_water_off_while_someone_is_at_home_counts_on_days_with_draws(history):
    drawn = np.zeros(2, draws.DRAW)
    drawn["start_s"] = [2.2 * DAY_S, 2.6 * DAY_S]
    assert row(replace(history, draws=drawn))["water_off_home_h"] == 0.25


@pytest.mark.parametrize("name", BY_HAND)
def test_a_figure_by_hand(history, name):
    assert row(history)[name] == pytest.approx(BY_HAND[name], rel=1e-12, nan_ok=True)


def test_a_house_where_no_water_flowed_has_no_least_dose(history):
    history.days[:, state.DOSE_LEAST] = np.inf
    assert np.isnan(row(history)["least_dose_j_m2"])


def test_one_day_at_the_intake_and_one_opening_under_pressure(history):
    slip = Lapse("slip", "opened under pressure", ("water",), 0.1 * DAY_S, end_s=0.2 * DAY_S)
    once = replace(history, lapses=(slip,), cistern_m3=np.array([0.3, 0.31, 0.4, 4.0]))
    assert row(once)["cistern_empty_days"] == 0.5
    assert row(once)["openings_under_pressure"] == 0.5


def test_a_stage_of_two_housings_wears_two_cartridges(history):
    sediment, carbon = history.scenario.stages
    double = sediment.model_copy(update={"housings": 2})
    scenario = history.scenario.model_copy(update={"stages": (double, carbon)})
    worn = row(replace(history, scenario=scenario))["cost_part_life"]
    assert worn == pytest.approx((0.75 * 18.0 * 2 + 0.6 * 95.0) / 2, rel=1e-12)


def test_a_lamp_that_nobody_replaces_has_no_price_to_wear(history):
    kept = tuple(task for task in history.scenario.tasks if task.name != "replace lamp")
    scenario = history.scenario.model_copy(update={"tasks": kept})
    assert row(replace(history, scenario=scenario))["cost_part_life"] == pytest.approx(0.75 * 18.0 / 2)
