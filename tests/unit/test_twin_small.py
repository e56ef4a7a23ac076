"""Small pieces of the twin, the outcome and the rules."""

from datetime import date

import numpy as np
import pytest

from sim.outcome.measures import below_target_days, row
from sim.plant import state
from sim.twin.common import days_of
from sim.twin.history import Balance
from sim.twin.people.duty import until_hour_s
from sim.twin.run import run
from sim.twin.streams import Source, stream
from sim.twin.water.unpack import plant_record, stage_records


@pytest.mark.parametrize(
    ("start", "years", "days"),
    [
        (date(2021, 1, 1), 1, 365),
        (date(2024, 1, 1), 1, 366),
        (date(2021, 1, 1), 5, 1826),
        (date(2024, 2, 29), 1, 366),
    ],
)
def test_years_are_calendar_years(start, years, days):
    assert days_of(start, years) == days


def test_streams_are_apart_and_repeat():
    first = stream(1, 0, Source.RAIN).random(4)
    np.testing.assert_array_equal(first, stream(1, 0, Source.RAIN).random(4))
    for other in (stream(1, 1, Source.RAIN), stream(2, 0, Source.RAIN), stream(1, 0, Source.DAYS)):
        assert not np.array_equal(first, other.random(4))


@pytest.mark.parametrize(
    ("now_h", "hour", "wait_h"), [(0.0, 10.0, 10.0), (10.0, 10.0, 0.0), (11.0, 10.0, 23.0)]
)
def test_working_hour(now_h, hour, wait_h):
    assert until_hour_s(now_h * 3600.0 + 86400.0 * 3, hour) == pytest.approx(wait_h * 3600.0)


def test_a_wrong_ledger_shows():
    assert Balance("water", 10.0, 5.0, 4.0, 1.0, 0.0, 10.0).error == 0.0
    assert Balance("water", 10.0, 5.0, 4.0, 1.0, 0.0, 10.003).error == pytest.approx(0.003 / 15.0)


def test_housings_share_the_flow(tiny):
    one, two = (stage_records(tiny(stage=[{"name": "sediment", "housings": n}]))[0] for n in (1, 2))
    assert two["linear"] == pytest.approx(one["linear"] / 2)
    assert two["quadratic"] == pytest.approx(one["quadratic"] / 4)
    assert two["capacity_kg"] == pytest.approx(2 * one["capacity_kg"])


def test_plant_record_is_the_scenario(tiny):
    p = plant_record(
        tiny(pressure_switch={"cut_in": "30 psi", "cut_out": "50 psi"}, house={"leak": "10 L/d"})
    )[0]
    assert p["cut_in_pa"] == pytest.approx(30 * 6894.757293)
    # 10 L/d at 50 psi: K = 1.1574e-7 m3/s / sqrt(344737.9 Pa) = 1.9713e-10.
    assert p["leak_coefficient"] == pytest.approx(1.9713e-10, rel=1e-4)


def test_money_of_a_run_by_hand(tiny, short, policy):
    # Two gutter clearings of 90 min by the owner at 15 an hour; lamp 45 W lit all the time; nothing bought.
    scenario = tiny(
        people={"adherence": 1.0, "delay": "0 d"}, power={"saifi": 0.0}, cistern={"top_up_below": 0.0}
    )
    one = policy({"task": "clear gutters and diverter", "when": "calendar", "every": "30 d"})
    history = run(scenario, one, short(scenario, 80, rain_m=np.full(80, 5e-3)))
    found = row(history)
    years = found["years"]
    assert found["cost_labour"] * years == pytest.approx(2 * 1.5 * 15.0, rel=1e-12)
    assert found["cost_parts"] == found["cost_callouts"] == found["cost_water"] == 0.0
    assert found["owner_h"] * years == pytest.approx(3.0, rel=1e-12)
    assert found["uv_kwh"] * years == pytest.approx(0.045 * 24 * 80, rel=1e-9)
    assert found["cost_energy"] == pytest.approx(0.16 * (found["uv_kwh"] + found["pump_kwh"]), rel=1e-12)
    # Pumping costs at least the water's lift to 40 psi (28.1 m) and less than ten times it.
    least = 1000.0 * 9.81 * 28.1 / 3.6e6
    assert 1.0 < found["pump_kwh"] / (least * found["supplied_m3"]) < 10.0


def test_days_below_target_need_more_than_the_stated_volume(tiny, short):
    scenario = tiny(uv={"target": "4000 mJ/cm2"}, goals={"below_target_volume": "1 L"})
    history = run(scenario, scenario.policies[-1], short(scenario, 20))
    volume = history.days[:, state.BELOW_TARGET]
    np.testing.assert_array_equal(below_target_days(history), volume > 1e-3)
    found = row(history)
    assert found["days_below_target"] * found["years"] == pytest.approx((volume > 1e-3).sum())
    assert below_target_days(history).any()


def test_no_two_sources_share_a_stream():
    numbers = {name: int(source) for name, source in Source.__members__.items()}
    assert len(set(numbers.values())) == len(numbers)


def test_what_is_left_of_a_life_that_ends_by_age(tiny, policy, short):
    """By age, where hardly any dirt came: after 40 days of 50 a fifth is left of a cartridge."""
    never = policy(name="nothing")

    def left(days, **stage):
        scenario = tiny(stage=[{"name": "sediment", **stage}])
        return run(scenario, never, short(scenario, days)), scenario

    old, _ = left(40, age_limit="50 d", dirt_capacity="100 kg")
    assert old.stage_life_left[0] == pytest.approx(0.2, abs=1e-3)
    dead, _ = left(60, age_limit="50 d", dirt_capacity="100 kg")
    assert dead.stage_life_left[0] == 0.0
    fresh, scenario = left(40, age_limit="20 yr", dirt_capacity="100 kg")
    assert fresh.stage_life_left[0] == pytest.approx(1.0 - 40.0 / (20 * 365.25), abs=1e-3)
    assert fresh.lamp_life_left == pytest.approx(1.0 - 40 * 86400.0 / scenario.uv.rated_life_s, abs=0.02)
