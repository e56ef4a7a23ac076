"""The order for a low UV reading, from made-up draws whose losses are known; costs by hand."""

from types import SimpleNamespace

import numpy as np
import pytest

from sim.diary.outlook import HORIZON_DAYS
from sim.scenario.read.load import load
from sim.study.check_first import low_light as low_light_module
from sim.study.check_first.low_light import CAUSES, LEAST_DRAWS, LowLight, low_light
from sim.study.check_first.question import READ_MIN, _mend_of, _task_for, of_light
from sim.study.check_first.signs import Cause, sign_of

NEEDED = 0.3
LOSS = 0.5  # of log light; what gives it back brings the reading back


def draws(*counts, today=True):
    """Return draws in which window, sleeve, lamp and water each alone took the light, so many of each."""
    gain = np.vstack([np.tile(LOSS * np.eye(4)[k], (count, 1)) for k, count in enumerate(counts)])
    return LowLight(gain, np.full(sum(counts), LOSS), NEEDED, today)


@pytest.fixture(scope="module")
def house():
    return load("family_house")


def told(house, found):
    return of_light(house, sign_of("low uv"), found)


def test_a_window_that_took_all_light_is_wiped_and_nothing_more(house):
    answer = told(house, draws(100, 0, 0, 0))
    first, wipe = answer.acts
    assert (first.do, first.share, first.minutes, first.money) == (
        "write down what it reads now", 0.0, READ_MIN, 0.0,
    )  # fmt: skip
    task = house.task("wipe sensor window")
    assert (wipe.do, wipe.share, wipe.money) == ("wipe sensor window, then read", 1.0, task.part_price)
    assert wipe.minutes == task.minutes + READ_MIN
    assert answer.causes[0] == ("window", 1.0)
    hour = house.people.owner_hour / 60.0
    assert answer.cost == pytest.approx((task.minutes + READ_MIN) * hour + task.part_price)
    assert answer.sentence.startswith("What brings the reading back: wipe sensor window (100 %).")


def test_what_is_skipped_is_kept_ready_only_where_most_light_is_lost_to_it(house):
    """The lamp took most light of six draws in ten, yet wiping brings these back as well."""
    gain = np.array([[0.3, 0.0, 0.6, 0.0]] * 6 + [[0.5, 0.0, 0.0, 0.0]] * 4)
    answer = told(house, LowLight(gain, np.full(10, LOSS), NEEDED, True))
    assert dict(answer.causes)["lamp"] == pytest.approx(0.6)
    said = {line.partition(":")[0]: line for line in answer.skipped}
    assert "Have what it takes ready" in said["Replace lamp"]
    assert said["Wipe sleeve"].endswith("Skip it.")
    even = np.array([[0.3, 0.0, 0.6, 0.0]] * 5 + [[0.5, 0.0, 0.0, 0.0]] * 5)
    halves = told(house, LowLight(even, np.full(10, LOSS), NEEDED, True))  # half is not most
    assert {line.partition(":")[0]: line for line in halves.skipped}["Replace lamp"].endswith("Skip it.")


def test_shares_of_the_acts_are_those_of_the_draws_each_brings_back(house):
    answer = told(house, draws(50, 30, 15, 5))
    shares = {act.do.removesuffix(", then read"): act.share for act in answer.acts}
    assert shares["wipe sensor window"] == pytest.approx(0.50)
    assert shares["wipe sleeve"] == pytest.approx(0.30)
    assert shares["replace lamp"] == pytest.approx(0.15)
    assert sum(shares.values()) == pytest.approx(1.0)
    assert [name for name, _ in answer.causes] == list(CAUSES)
    assert answer.other_cost > answer.cost  # with the lamp first


def test_what_no_mend_brings_back_is_for_a_technician(house):
    lost = LowLight(np.zeros((10, 4)), np.full(10, LOSS), NEEDED, True)
    assert lost.left(frozenset({0, 1, 2, 3})) == 1.0
    last = told(house, lost).acts[-1]
    fee = house.people.technician_fee + house.people.technician_hour
    assert (last.do, last.share, last.minutes, last.money) == ("call a technician", 1.0, 60.0, fee)
    assert not any(act.do == "call a technician" for act in told(house, draws(100, 0, 0, 0)).acts)


def test_a_reading_that_is_not_low_yet_is_told_as_one_to_come(house):
    assert ", when it comes to be low:" in told(house, draws(10, 0, 0, 0, today=False)).sentence
    assert ", when it comes to be low" not in told(house, draws(10, 0, 0, 0)).sentence


def test_light_counts_as_back_at_the_margin_itself():
    found = LowLight(np.array([[0.2, 0.0, 0.0, 0.0]]), np.array([0.5]), 0.3, True)
    assert found.left(frozenset()) == 1.0 and found.left(frozenset({0})) == 0.0


# --- mends ---
def made(*tasks, stages=()):
    return SimpleNamespace(
        tasks=tasks, stages=stages,
        people=SimpleNamespace(technician_fee=90.0, technician_hour=85.0),
    )  # fmt: skip


def task(name, effect, price=0.0, minutes=10.0, on_stage=False):
    return SimpleNamespace(
        name=name, effects=(effect,), part_price=price, minutes=minutes, on_stage=on_stage
    )  # fmt: skip


def test_of_several_tasks_with_an_effect_the_cheapest_is_taken_then_the_shortest():
    site = made(
        task("a", "new lamp", 90.0, 5.0), task("b", "new lamp", 80.0, 30.0), task("c", "new lamp", 80.0, 20.0)
    )
    assert _task_for(site, "new lamp", "") == ("c", 20.0, 80.0)
    assert _task_for(site, "wiped sleeve", "") is None


def test_a_cartridge_is_that_of_the_first_housing_of_its_kind_and_costs_what_all_of_them_do():
    stages = [
        SimpleNamespace(name="coarse", carbon_bed_m3=0.0, price=12.0, housings=2),
        SimpleNamespace(name="block", carbon_bed_m3=0.001, price=30.0, housings=1),
    ]
    change = task("change cartridge", "new cartridge", 0.0, 25.0, on_stage=True)
    site = made(change, stages=stages)
    assert _task_for(site, "new cartridge", "solids") == ("change cartridge: coarse", 25.0, 24.0)
    assert _task_for(site, "new cartridge", "carbon") == ("change cartridge: block", 25.0, 30.0)
    assert _task_for(made(change, stages=stages[:1]), "new cartridge", "carbon") is None


def test_what_mends_a_cause_costs_time_and_parts_or_somebody_is_called():
    site = made(task("replace lamp", "new lamp", 80.0, 30.0))
    lamp = Cause("lamp", 0.4, effect="new lamp")
    assert _mend_of(site, lamp, 0.5) == ("replace lamp", 30.0, 80.0, 95.0)
    called = ("call a technician", 60.0, 175.0, float("inf"))
    assert _mend_of(site, Cause("lamp", 0.4, effect="new lamp", licensed=True), 0.5) == called
    assert _mend_of(site, Cause("sleeve", 0.4, effect="wiped sleeve"), 0.5) == called
    own = Cause("valve", 0.4, mend="open the valve", minutes=2.0)
    assert _mend_of(site, own, 0.5) == ("open the valve", 2.0, 0.0, 1.0)


# --- which draws count ---
def picture(light, alarm_days):
    """What is seen of a lamp by draws: its light today, and the day on which its alarm comes to be."""
    return SimpleNamespace(
        uv=SimpleNamespace(light=np.array(light)[:, None], alarm_days=np.array(alarm_days)),
        parts=SimpleNamespace(uv=None), inferred=SimpleNamespace(uv=SimpleNamespace(draws=None, path=None)),
        evidence=SimpleNamespace(uv=None), paths=None, today_days=100.0,
    )  # fmt: skip


@pytest.fixture
def at_days(monkeypatch):
    """Have the loss of a draw be the day on which it is looked at."""

    def looked_at(uv, draws, path, evidence, paths, days):
        days = np.asarray(days, dtype=float)
        return np.zeros((days.size, len(CAUSES))), days

    monkeypatch.setattr(low_light_module, "losses", looked_at)


def test_enough_draws_that_are_low_today_are_taken_as_they_stand_today(house, at_days):
    light = [0.6] * LEAST_DRAWS + [0.9] * 50
    found = low_light(house, picture(light, [7.0] * (LEAST_DRAWS + 50)))
    assert found.today and found.lost.tolist() == [100.0] * LEAST_DRAWS


def test_else_those_whose_alarm_comes_are_taken_each_on_its_own_day(house, at_days):
    light = [0.6] * (LEAST_DRAWS - 1) + [0.9] * 3
    days = [7.0] * (LEAST_DRAWS - 1) + [30.0, HORIZON_DAYS - 1.0, HORIZON_DAYS]
    found = low_light(house, picture(light, days))
    assert not found.today
    assert found.lost.tolist() == [107.0] * (LEAST_DRAWS - 1) + [130.0, 100.0 + HORIZON_DAYS - 1.0]


def test_where_no_alarm_comes_all_draws_are_taken(house, at_days):
    found = low_light(house, picture([0.9, 0.95], [HORIZON_DAYS] * 2))
    assert not found.today and found.lost.size == 2
