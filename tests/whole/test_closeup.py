"""Some days in detail are those of the whole run: the same steps, draws, pump runs, events, least doses."""

import dataclasses

import numpy as np
import pytest
from pandas.testing import assert_frame_equal

from sim.errors import InputError
from sim.outcome.closeup import closeup
from sim.outcome.frames import frames
from sim.scenario.read import load
from sim.twin import run as twin
from sim.twin.window import window

DAY_S = 86400.0
FIRST, DAYS = 58, 28


@pytest.fixture(scope="module", params=["by the readings", "nothing done"])
def whole(request):
    scenario = load.load(load.DEMO)
    policy = next(item for item in scenario.policies if item.name == request.param)
    common = twin.common_inputs(scenario, 0, 3, 1)
    return scenario, policy, common, frames(twin.run(scenario, policy, common, trace=True))


def of_days(table, column, first_day, n_days):
    inside = (table[column] >= first_day * DAY_S) & (table[column] < (first_day + n_days) * DAY_S)
    return table[inside].reset_index(drop=True)


@pytest.mark.parametrize(("first", "n_days"), [(0, 2), (FIRST, DAYS), (363, 5)])
def test_the_steps_are_those_of_the_whole_run(whole, first, n_days):
    scenario, policy, common, tables = whole
    found = closeup(window(scenario, policy, common, first, n_days))
    steps = tables["trace"]
    steps = steps[
        (steps["time_s"] > first * DAY_S) & (steps["time_s"] <= min(first + n_days, 365) * DAY_S)
    ].reset_index(drop=True)
    assert len(steps) > 100
    shown = found["trace"].iloc[1:].reset_index(drop=True)
    assert shown[list(steps.columns)].equals(steps)  # to the last bit
    for name, column in (("draws", "start_s"), ("pump", "start_s"), ("events", "time_s")):
        expected = of_days(tables[name], column, first, n_days)
        # An empty table has no types of its own.
        assert_frame_equal(found[name], expected, check_exact=True, check_dtype=len(expected) > 0)


def test_each_day_agrees_with_the_table_of_days(whole):
    scenario, policy, common, tables = whole
    trace = closeup(window(scenario, policy, common, FIRST, DAYS))["trace"]
    steps = trace.iloc[1:].assign(
        seconds=np.diff(trace["time_s"]), day=(trace["time_s"].to_numpy()[:-1] // DAY_S).astype(int)
    )
    days = tables["days"].iloc[FIRST : FIRST + DAYS]
    by_day = steps.groupby("day")
    assert list(by_day.groups) == list(days["day"])
    supplied = (steps["seconds"] * steps["flow_m3_s"]).groupby(steps["day"]).sum()
    np.testing.assert_allclose(supplied, days["supplied_m3"], rtol=1e-9)  # time differences lose digits
    np.testing.assert_allclose(by_day["dose_j_m2"].min(), days["dose_least_j_m2"], rtol=1e-12)
    highest = np.maximum(by_day["tank_pressure_pa"].max(), by_day["tank_pressure_pa"].first())
    assert (highest <= days["tank_pressure_max_pa"].to_numpy() * (1 + 1e-12)).all()
    assert (by_day["tank_pressure_pa"].min().to_numpy() >= days["tank_pressure_min_pa"].to_numpy()).all()


def test_a_power_cut_leaves_the_lamp_dark_until_it_is_warm(whole):
    scenario, policy, common, _ = whole
    cut_s = np.array(
        [100.0 * DAY_S + 68400.0, 100.0 * DAY_S + 72000.0]
    )  # an evening hour, while water is used
    common = dataclasses.replace(common, cuts_s=cut_s[None, :])
    day = int(cut_s[0] // DAY_S)
    trace = closeup(window(scenario, policy, common, day, 3))["trace"]
    begin_s = trace["time_s"].shift(fill_value=day * DAY_S)
    dark = (begin_s >= cut_s[0]) & (begin_s < cut_s[1] + scenario.uv.warm_up_s)
    assert dark.any()
    assert not trace.loc[dark, "lamp_warm"].any()
    assert trace.loc[(begin_s < cut_s[0]) & (begin_s > day * DAY_S + 600), "lamp_warm"].all()


@pytest.mark.parametrize("day", [-1, 365])
def test_a_day_outside_the_run_is_refused(whole, day):
    scenario, policy, common, _ = whole
    with pytest.raises(InputError, match="wanted 0 to 364"):
        window(scenario, policy, common, day, 1)
