"""Pumps that fail on the twin: on the day their use says, alike under every policy, and in the rows."""

import dataclasses
import math

import numpy as np
import pytest
from scipy.optimize import brentq

from sim.outcome.measures import pump_out_days, row
from sim.plant import state
from sim.scenario.read.load import built_in, load
from sim.twin.run import common_inputs, run

DAY_S, YEAR_S = 86400.0, 365.25 * 86400.0
LONG = {"life_age": "1000 yr", "life": "1000 yr", "life_starts": 1e9}
QUIET = {"power": {"saifi": 0.0}, "people": {"repair_delay": "0 d", "adherence": 1.0}}
RULE = {"task": "repair pump", "when": "failure", "by": "technician"}
NEVER = np.full(64, 1e12)


def pumps(common, *units):
    """Give the pumps of a run their lives, as unit exponentials; those that follow never fail."""
    lives = NEVER.copy()
    lives[: len(units)] = units
    return dataclasses.replace(common, lives={**common.lives, "pump": lives})


def failed_days(history):
    return [e.time_s / DAY_S for e in history.events if e.kind == "failure" and e.subject == "pump"]


def first_midnight(used, limit):
    """Day at whose beginning the use of the days before has reached a limit."""
    return int(np.argmax(np.cumsum(used) >= limit)) + 1


@pytest.mark.parametrize("wear", [0.0, 2.0])
def test_a_pump_fails_at_the_midnight_by_which_it_has_made_its_starts(tiny, short, policy, wear):
    # shape 1 and a unit draw: it lasts just the 60 starts, short runs counted on top
    small = {"volume": "4 gal"}
    pump = {**LONG, "life_starts": 60.0, "life_shape": 1.0, "short_run_wear": wear}
    scenario = tiny(pump=pump, pressure_tank=small, **QUIET)
    history = run(scenario, policy(), pumps(short(scenario, 60), 1.0))
    days = history.days
    assert days[:, state.SHORT_RUNS].sum() > 0.0
    used = days[:, state.STARTS] + wear * days[:, state.SHORT_RUNS]
    (failed,) = failed_days(history)
    # a thousand years by age and running take 60 starts x 60 d/1000 yr at most
    assert failed == first_midnight(used, 60.0 * (1.0 - 60.0 * DAY_S / (1000 * YEAR_S) * 2))
    assert days[int(failed) :, state.STARTS].sum() == 0.0


def test_a_pump_fails_by_age_and_by_running(tiny, short, policy):
    by_age = tiny(pump={**LONG, "life_age": "20 d", "life_shape": 2.0}, **QUIET)
    # draw 2.25, shape 2: 1.5 scales
    assert failed_days(run(by_age, policy(), pumps(short(by_age, 60), 2.25))) == [30.0]
    by_run = tiny(pump={**LONG, "life": "1 h", "life_shape": 1.0}, **QUIET)
    history = run(by_run, policy(), pumps(short(by_run, 60), 1.0))
    seconds = np.zeros(60)
    for start_s, stop_s in history.pump_runs_s:
        for day in range(int(start_s / DAY_S), int(stop_s / DAY_S) + 1):
            seconds[day] += min(stop_s, (day + 1) * DAY_S) - max(start_s, day * DAY_S)
    assert failed_days(history) == [first_midnight(seconds, 3600.0 * (1.0 - 1e-3))]


def test_two_causes_together_end_a_life_sooner_than_either(tiny, short, policy):
    # shape 2: age^2/40^2 + starts^2/S^2 = 1, by hand from the starts of the run itself
    base = tiny(pump={**LONG, "life_age": "40 d", "life_shape": 2.0}, **QUIET)
    assert failed_days(run(base, policy(), pumps(short(base, 60), 1.0))) == [40.0]
    both = tiny(pump={**LONG, "life_age": "40 d", "life_starts": 150.0, "life_shape": 2.0}, **QUIET)
    history = run(both, policy(), pumps(short(both, 60), 1.0))
    made = np.cumsum(history.days[:, state.STARTS] + history.days[:, state.SHORT_RUNS])
    age = np.arange(1, 61)
    expected = int(np.argmax((age / 40.0) ** 2 + (made / 150.0) ** 2 >= 1.0)) + 1
    assert failed_days(history) == [expected]
    assert expected < 40


@pytest.mark.parametrize(("height", "wears"), [("1.5 m", False), ("8.5 m", True)])
def test_cavitation_wears_a_pump_that_stands_too_high(tiny, short, policy, height, wears):
    # Water at 20 C at most: 10.1 m of air less 3 m needed leave some 7 m of lift. The pump runs the same.
    store = {"water_mean": "15 C", "water_swing_k": 5.0}
    pump = {**LONG, "life": "2 h", "life_shape": 1.0, "height": height, "npsh_required": "3 m"}
    found = []
    for factor in (1.0, 20.0):
        scenario = tiny(pump={**pump, "cavitation_wear": factor}, cistern=store, **QUIET)
        found += failed_days(run(scenario, policy(), pumps(short(scenario, 120), 1.0))) or [math.inf]
    assert (found[1] < 0.3 * found[0]) if wears else (found[1] == found[0])


def test_rows_count_failures_call_outs_and_dry_hours(tiny, short, policy):
    scenario = tiny(pump={**LONG, "life_age": "20 d", "life_shape": 1.0}, **QUIET)
    history = run(scenario, policy(RULE), pumps(short(scenario, 60), 1.0, 0.5))
    first, second = failed_days(history)
    mended = [e.time_s / DAY_S for e in history.events if e.subject == "repair pump" and e.kind == "task"]
    assert first == 20.0
    assert second == math.ceil(mended[0] + 10.0)  # the next pump has half the draw and its own age
    out = np.zeros(60, dtype=bool)
    for begin, end in zip((first, second), mended, strict=True):
        out[int(begin) : int(end) + 1] = True
    np.testing.assert_array_equal(pump_out_days(history), out)
    found = row(history)
    assert (found["pump_failures"], found["pump_callouts"]) == (2.0, 2.0)
    hours = history.days[out, state.WATER_OFF].sum() / 3600.0
    assert found["pump_water_off_h"] == pytest.approx(hours, rel=1e-12)
    # the pressure tank runs down, then the taps are dry until the technician came: four days' lead and more
    assert hours > 2 * 2 * 24.0
    nobody = run(scenario, policy(), pumps(short(scenario, 60), 1.0))
    assert pump_out_days(nobody).sum() == 40
    assert row(nobody)["pump_callouts"] == 0.0


def test_a_life_belongs_to_the_pump_and_not_to_the_policy(tiny):
    scenario = tiny(pump={"life_age": "1 yr"}, years=2)
    common = common_inputs(scenario, 0, 4, 2)
    found = [run(scenario, one, common) for one in scenario.policies[:2]]
    lives = [history.parts["pump"].life_s for history in found if history.parts["pump"].number == 0]
    assert len(set(lives)) <= 1
    units = common.lives["pump"]
    for history in found:
        part = history.parts["pump"]
        assert part.life_s == pytest.approx(YEAR_S * units[part.number] ** (1 / 2.5), rel=1e-12)


def two_tanks(site, years, runs):
    """Mean rows with 2 and with 86 gal of pressure tank, the same weather and lives."""
    way = next(one for one in site.policies if one.name == "as things fail")
    found = []
    for gallons in (2.0, 86.0):
        tank = site.tank.model_copy(update={"volume_m3": gallons * 3.785411784e-3})
        house = site.model_copy(update={"tank": tank})
        rows = [row(run(house, way, common_inputs(house, number, 1, years))) for number in range(runs)]
        found.append({name: np.mean([one[name] for one in rows]) for name in COUNTED})
    return found


COUNTED = ("cost", "pump_starts", "pump_failures", "pump_callouts", "pump_water_off_h")


def test_a_small_tank_wears_the_pump_by_starts(tiny):
    # Lives by starts a twenty-fifth of the usual, so that a year shows what takes many; by age as ever.
    small, large = two_tanks(tiny(pump={"life_starts": 2e4}), 1, 4)
    assert small["pump_starts"] > 10 * large["pump_starts"]
    assert small["pump_failures"] > large["pump_failures"] + 0.4
    assert small["pump_callouts"] > large["pump_callouts"]
    assert small["pump_water_off_h"] > large["pump_water_off_h"]
    assert small["cost"] > large["cost"] + 100.0


@pytest.mark.long
def test_a_small_tank_costs_more_over_the_years():
    small, large = two_tanks(load("family_house"), 5, 6)
    assert all(small[name] > large[name] for name in COUNTED)


def median_years(scenario, starts_per_year, short_per_year, run_h_per_year):
    """Age by which half have failed, from the use of a run: the sum of the three hazards is ln 2."""
    pump = scenario.pump
    starts = starts_per_year + pump.short_run_wear_factor * short_per_year
    uses = (
        YEAR_S / pump.life_age_s,
        run_h_per_year * 3600.0 / pump.life_s,
        starts / pump.life_start_count,
    )
    return brentq(lambda t: sum((t * use) ** pump.life_shape for use in uses) - math.log(2.0), 0.1, 100.0)


@pytest.mark.parametrize("site", built_in())
def test_half_of_the_pumps_of_the_built_in_sites_last_10_to_14_years(site):
    """What pages say of household pumps is "about 10 years, 4 to 20": opinion, no data."""
    scenario = load(site)
    common = common_inputs(scenario, 0, 1, 2)
    way = next(one for one in scenario.policies if one.name == "by the calendar")
    history = run(scenario, way, dataclasses.replace(common, lives=dict.fromkeys(common.lives, NEVER)))
    found = row(history)
    hours = float(np.diff(history.pump_runs_s, axis=1).sum()) / 3600.0 / found["years"]
    assert 10.0 < median_years(scenario, found["pump_starts"], found["short_runs"], hours) < 14.0


@pytest.mark.long
@pytest.mark.parametrize("site", built_in())
def test_half_of_the_pumps_last_10_to_14_years_in_runs(site, record_property):
    """40 houses of 16 years: the standard error of the median is some 0.9 years."""
    scenario, runs = load(site), 40
    way = next(one for one in scenario.policies if one.name == "as things fail")
    first = []
    for number in range(runs):
        failed = failed_days(run(scenario, way, common_inputs(scenario, number, 1, 16)))
        first.append(failed[0] / 365.25 if failed else math.inf)
    median = float(np.median(first))
    record_property("median_years", f"{median:.2f}")
    assert 10.0 < median < 14.0


def test_a_pump_that_stands_too_high_gives_less_and_runs_longer(tiny, short, policy):
    def lived(height, needed):
        pump = {**LONG, "shutoff_head": "220 ft", "height": height, "npsh_required": needed}
        scenario = tiny(pump=pump, **QUIET)
        history = run(scenario, policy(), short(scenario, 20))
        return history.days[:, state.SUPPLIED].sum(), np.diff(history.pump_runs_s, axis=1).sum()

    ample, short_of = lived("8.5 m", "0.1 m"), lived("8.5 m", "3 m")
    assert short_of[1] > 1.02 * ample[1]
    assert lived("1.5 m", "0.1 m") == lived("1.5 m", "3 m")  # where there is enough, nothing moves
    nothing = lived("13 m", "3 m")  # above what the air lifts: what the tank holds is all
    assert nothing[0] < 0.2 * ample[0]
