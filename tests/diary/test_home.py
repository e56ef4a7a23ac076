"""Where a diary is kept, whether there is one, its last day; and the line through readings, by hand."""

from datetime import date, datetime
from pathlib import Path

import pytest

from sim.diary.book import Diary
from sim.diary.described import ACTS, READINGS
from sim.diary.entries import Act, Reading
from sim.diary.forecast import calendar_days, line_days
from sim.diary.home import home_of, invented, last_day, there
from sim.diary.outlook import HORIZON_DAYS
from tests.changed_site import site


@pytest.mark.parametrize(
    ("named", "home"),
    [
        ("cottage", "cottage_diary"),
        (None, "family_house_diary"),
        ("my_site.toml", "my_site_diary"),
        ("/data/houses/hill.toml", "/data/houses/hill_diary"),
        ("/data/cottage.toml", "/data/cottage_diary"),
    ],
)
def test_a_diary_lies_beside_its_file_or_where_one_works(named, home):
    assert home_of(named) == Path(home)
    assert home_of(named, Path("elsewhere")) == Path("elsewhere")


def test_an_invented_diary_comes_with_a_built_in_site_alone(tmp_path):
    assert invented(None) == invented("family_house") is not None
    assert invented("my_site.toml") is None
    assert there(invented("family_house"))


@pytest.mark.parametrize(
    ("file", "found"), [(READINGS, True), (ACTS, True), ("notes.txt", False), (None, False)]
)
def test_a_diary_is_there_from_its_first_line_of_either_kind(tmp_path, file, found):
    if file:
        (tmp_path / file).write_text("x")
    assert there(tmp_path) is found


def test_the_last_day_is_that_of_what_came_last():
    read = Reading(datetime(2027, 3, 5, 9), "UV", 0.8)
    done = Act(datetime(2027, 4, 1, 9), "wipe sleeve", "")
    assert last_day(Diary((read,), (done,))) == date(2027, 4, 1)
    assert last_day(Diary((read,), ())) == date(2027, 3, 5)
    assert last_day(Diary((), (done,))) == date(2027, 4, 1)


@pytest.mark.parametrize(
    ("readings", "limit", "rising", "days"),
    [
        ([(-0.5, 2.0), (0.0, 3.0)], 10.0, True, 3.5),  # within a day
        ([(-20.0, 0.9), (-10.0, 0.8), (0.0, 0.7)], 0.6, False, 10.0),
        ([(-20.0, 0.7), (0.0, 0.8)], 0.6, False, HORIZON_DAYS),  # the other way
        ([(-20.0, 0.7), (0.0, 0.6)], 0.65, False, 0.0),  # past it already
        ([(-20.0, 2.0), (0.0, 2.0)], 10.0, True, HORIZON_DAYS),  # level
        ([(-3.0, 2.0), (-3.0, 4.0)], 10.0, True, HORIZON_DAYS),  # at one time
        ([(-3.0, 2.0)], 10.0, True, HORIZON_DAYS),
        ([(-2000.0, 1.0), (0.0, 2.0)], 10.0, True, HORIZON_DAYS),  # later than is told
    ],
)
def test_a_line_through_readings_passes_its_limit(readings, limit, rising, days):
    assert line_days(readings, limit, rising) == pytest.approx(days)


def test_where_no_policy_has_a_calendar_a_cartridge_waits_for_its_age_and_a_unit_for_a_year():
    house = site(stage__sediment__age_limit="200 d")
    bare = house.model_copy(update={"policies": ()})
    assert calendar_days(bare, Diary((), ()), "sediment", date(2027, 6, 1)) == pytest.approx(200.0)
    assert calendar_days(bare, Diary((), ()), "UV", date(2027, 6, 1)) == 365.0
    changed = Diary((), (Act(datetime(2027, 5, 2, 0), "change cartridge", "sediment"),))
    left = calendar_days(bare, changed, "sediment", date(2027, 6, 1))
    assert left == pytest.approx(170.0, abs=1.0)  # thirty days ago
