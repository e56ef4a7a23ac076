"""A diary laid out for its parts, by hand: which act renews what, which readings count, and for how much."""

from datetime import date, datetime, timedelta

import numpy as np
import pytest

from sim.diary.book import Diary
from sim.diary.entries import Act, Reading
from sim.diary.evidence import evidence_of, water_acts
from sim.diary.forecast import calendar_days, line_days, line_of, readings_of, renewals
from sim.diary.infer import tempers
from sim.diary.outlook import HORIZON_DAYS
from sim.diary.paths import Paths
from sim.scenario.read.load import load

HOUSE = load("family_house")
BEGIN = date(2025, 1, 1)
DEPTH_M = HOUSE.cistern.capacity_m3 / HOUSE.cistern.floor_m2


def at(day, hour=0):
    return datetime(2025, 1, 1) + timedelta(days=day, hours=hour)


def paths(level_m3=(2.0, 4.0, 6.0, 8.0)):
    """Four houses that use 1 to 4 m3 a day, each with a level of its own."""
    pace = np.array([1.0, 2.0, 3.0, 4.0])[:, None, None]
    sums = pace * np.arange(401.0)[None, :, None] * np.ones(5 + len(HOUSE.stages))
    ends = np.array(level_m3)[:, None, None] * np.ones((4, 400, 5))
    return Paths(BEGIN, sums, ends, np.zeros(4), "")


def laid(readings=(), acts=()):
    return evidence_of(HOUSE, Diary(tuple(sorted(readings)), tuple(sorted(acts))), paths())


def drop(day, name, value, **more):
    return Reading(at(day), f"drop over {name}", value, 0.1, **more)


def test_a_change_renews_its_own_stage():
    acts = [Act(at(10), "change cartridge", "sediment"), Act(at(40, 12), "change cartridge", "carbon"),
            Act(at(20), "wipe sleeve")]  # fmt: skip
    sediment, carbon = laid(acts=acts).renewals
    assert sediment.tolist() == [[10.0, 1.0]] and carbon.tolist() == [[40.5, 1.0]]


def test_drops_go_to_their_stage_with_what_was_read_beside_them():
    read = [
        drop(5, "sediment", 3e4, gauges=2),
        drop(5, "carbon", 2e4),
        drop(9, "sediment", 4e4, flow_m3_s=3e-4),
    ]
    sediment, carbon = laid(read).drops
    assert sediment.at_days.tolist() == [5.0, 9.0] and sediment.drop_pa.tolist() == [3e4, 4e4]
    assert carbon.at_days.tolist() == [5.0] and carbon.drop_pa.tolist() == [2e4]
    assert sediment.others_pa[0] == 2e4 and np.isnan(sediment.others_pa[1])  # nothing was read beside it then
    assert carbon.others_pa.tolist() == [3e4]
    assert np.isnan(sediment.flow_m3_s[0]) and sediment.flow_m3_s[1] == 3e-4


def test_a_meter_weighs_by_what_passed_between_its_first_reading_and_its_last():
    """60 m3 in 20 days are 3 a day: the third house."""
    readings = [
        Reading(at(day), "meter", value, 0.1) for day, value in ((10, 500.0), (17, 521.0), (30, 560.0))
    ]
    found = laid(readings).of_paths
    assert found.argmax() == 2
    # Student's t with 4 degrees of freedom of the log of the ratio over 5 % (textbooks: (1 + t2/4)^-5/2).
    assert found[0] - found[2] == pytest.approx(-2.5 * np.log1p(0.25 * (np.log(1.0 / 3.0) / 0.05) ** 2))


def test_a_meter_that_fell_began_anew():
    """From the reading at which it began anew: 40 m3 in 20 days are 2 a day."""
    days = ((5, 900.0), (8, 990.0), (10, 7.0), (30, 47.0))
    assert laid([Reading(at(day), "meter", value, 0.1) for day, value in days]).of_paths.argmax() == 1
    only = laid([Reading(at(day), "meter", value, 0.1) for day, value in days[:3]]).of_paths
    assert np.array_equal(only, np.zeros(4))  # one reading since then says nothing


@pytest.mark.parametrize(
    ("what", "value"), [("cistern level", 6.0 / HOUSE.cistern.floor_m2), ("cistern share", 6.0)]
)
def test_a_level_weighs_by_how_near_a_house_is(what, value):
    share = value / HOUSE.cistern.capacity_m3 if what == "cistern share" else value
    assert laid([Reading(at(50), what, share, 0.001)]).of_paths.argmax() == 2


def test_of_many_levels_the_last_four_count():
    old = [Reading(at(day), "cistern level", 2.0 / HOUSE.cistern.floor_m2, 0.001) for day in range(40)]
    new = [Reading(at(60 + day), "cistern level", 8.0 / HOUSE.cistern.floor_m2, 0.001) for day in range(4)]
    assert laid(old + new).of_paths.argmax() == 3


def test_acts_that_change_the_water_carry_their_time():
    acts = (Act(at(3), "clean cistern"), Act(at(4), "wipe sleeve"), Act(at(5), "clear gutters and diverter"))
    found = water_acts(HOUSE, Diary((), acts), BEGIN)
    assert found == ((3 * 86400.0, "clean cistern"), (5 * 86400.0, "clear gutters and diverter"))


# --- what forecasts are compared with ---
def test_the_calendar_counts_from_the_last_time():
    today = date(2025, 4, 11)  # day 100
    rule = next(rule for policy in HOUSE.policies for rule in policy.rules
                if rule.when == "calendar" and rule.stage == "sediment")  # fmt: skip
    every = rule.every_s / 86400.0
    changes = ((10, "sediment"), (60, "sediment"), (90, "carbon"))
    known = Diary((), tuple(Act(at(day), "change cartridge", name) for day, name in changes))
    assert renewals(HOUSE, known, "sediment", today) == [-90.0, -40.0]
    assert calendar_days(HOUSE, known, "sediment", today) == pytest.approx(max(every - 40.0, 0.0))
    assert calendar_days(HOUSE, Diary((), ()), "sediment", today) == pytest.approx(every)


def test_wiping_and_a_new_lamp_renew_the_reading_of_the_unit_and_nothing_else():
    acts = tuple(Act(at(day), task) for day, task in ((1, "wipe sleeve"), (2, "wipe sensor window"),
                                                      (3, "replace lamp"), (4, "clean cistern")))  # fmt: skip
    assert renewals(HOUSE, Diary((), acts), "UV", BEGIN) == [1.0, 2.0, 3.0]
    assert renewals(HOUSE, Diary((), acts), "sediment", BEGIN) == []


def test_a_line_goes_through_the_readings_since_the_last_renewal():
    """1 kPa in ten days since the change on day 50; 40 kPa come 60 days after day 100."""
    today = date(2025, 4, 11)
    read = tuple(
        drop(day, "sediment", value) for day, value in ((20, 9e4), (60, 30e3), (80, 32e3), (100, 34e3))
    )
    known = Diary((*read, Reading(at(70), "UV", 0.8, 0.01)), (Act(at(50), "change cartridge", "sediment"),))
    assert [one.value for one in readings_of(known, "sediment")] == [9e4, 30e3, 32e3, 34e3]
    assert line_of(HOUSE, known, "sediment", today, 40e3) == pytest.approx(60.0)
    assert line_of(HOUSE, known, "UV", today, 0.6) == HORIZON_DAYS  # one reading is no line


@pytest.mark.parametrize(
    ("readings", "limit", "rising", "days"),
    [
        ([(-10.0, 0.9), (0.0, 0.8)], 0.6, False, 20.0),
        ([(-10.0, 0.8), (0.0, 0.9)], 0.6, False, HORIZON_DAYS),  # it gets better
        ([(-10.0, 0.7), (0.0, 0.5)], 0.6, False, 0.0),  # it is past
        ([(-10.0, 5.0), (0.0, 4.0)], 9.0, True, HORIZON_DAYS),
        ([(-10.0, 5.0), (0.0, 5.0)], 9.0, True, HORIZON_DAYS),
        ([(0.0, 4.0), (0.0, 6.0)], 9.0, True, HORIZON_DAYS),  # one day is no line
        ([(0.0, 4.0)], 9.0, True, HORIZON_DAYS),
        ([], 9.0, True, HORIZON_DAYS),
    ],
)
def test_a_line_reaches_its_limit_or_does_not(readings, limit, rising, days):
    assert line_days(readings, limit, rising) == pytest.approx(days)


def test_readings_of_the_present_span_weigh_most_and_many_alike_less():
    """Readings before a renewal weigh less; of m between two the power is 1/(1 + (m - 1) rho)."""
    weight, power = tempers(np.array([1.0, 2.0, 3.0, 12.0]), np.array([10.0]), 0.5)
    assert weight[3] == 1.0 and weight[0] == weight[1] == weight[2] < 1.0
    assert power.tolist() == pytest.approx([0.5, 0.5, 0.5, 1.0])
    assert tempers(np.array([]), np.array([10.0]), 0.5).shape == (2, 0)
    three = tempers(np.array([1.0, 12.0, 22.0]), np.array([10.0, 20.0]), 0.5)[0]
    assert three[0] == pytest.approx(three[1] ** 2) and three[2] == 1.0
