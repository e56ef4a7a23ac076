"""When tasks were last done, by a diary: those of the calendar, and the round of readings, up to a day."""

from datetime import date, datetime

from sim.diary.book import Diary
from sim.diary.done import last_done
from sim.diary.entries import Act, Reading
from sim.scenario.care import READINGS
from sim.scenario.read.load import load

WAYS = {policy.name: policy for policy in load("family_house").policies}
DAY = date(2027, 3, 1)


def at(day, month=3):
    return datetime(2027, month, day, 12)


DIARY = Diary(
    readings=(Reading(at(20, 2), "UV", 0.8), Reading(at(1), "UV", 0.7), Reading(at(2), "UV", 0.7)),
    acts=(
        Act(at(3, 1), "replace lamp"), Act(at(1), "replace lamp"), Act(at(2), "replace lamp"),
        Act(at(5, 2), "change cartridge", "sediment"), Act(at(6, 2), "repair pump"),
    ),
)  # fmt: skip


def test_the_last_of_each_task_of_the_calendar_counts_that_day_with_it():
    found = last_done(DIARY, WAYS["by the calendar"], DAY)
    assert found == {"replace lamp": DAY, "change cartridge: sediment": date(2027, 2, 5)}


def test_a_task_that_the_way_does_not_do_by_the_calendar_is_left_out():
    assert last_done(DIARY, WAYS["as things fail"], DAY) == {}


def test_readings_count_where_the_way_goes_by_them_that_day_with_it():
    found = last_done(DIARY, WAYS["by the readings"], DAY)
    assert found == {"replace lamp": DAY, READINGS: DAY}
    assert last_done(DIARY, WAYS["by the readings"], date(2027, 2, 28))[READINGS] == date(2027, 2, 20)
