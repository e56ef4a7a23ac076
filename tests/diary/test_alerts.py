"""What stands before all else in a house's day: a sample that found something, too little light."""

from datetime import date, datetime

import pytest

from sim import cli
from sim.commands.today import told
from sim.diary.book import Diary
from sim.diary.entries import Act, Reading
from sim.scenario.read.load import load
from sim.study.caution import CAUTION, ON_ALARM
from sim.study.question import Site
from sim.study.questions import ask
from sim.study.runs.means import Means
from sim.study.today.alerts import alerts
from sim.study.today.question import TodayQuestion

FOUND, CLEAR, ON, OFF = 1.0, 0.0, 1.0, 0.0


@pytest.fixture(scope="module")
def house():
    return load("family_house")


def diary(*readings, acts=()):
    read = [Reading(datetime(2025, 5, day, 9), what, value, 0.01) for day, what, value in readings]
    done = [Act(datetime(2025, 5, day, 9), task) for day, task in acts]
    return Diary(tuple(sorted(read)), tuple(sorted(done)))


def test_a_sample_that_found_something_is_told_until_one_is_clear(house):
    (said,) = alerts(house, diary((3, "sample", CLEAR), (9, "sample", FOUND)))
    assert said.startswith("The last sample, of 9 May 2025, found what it was tested for.")
    assert "Unless it was taken before the UV unit, drink no water" in said
    assert "laboratory or health authority" in said
    assert alerts(house, diary((9, "sample", FOUND), (12, "sample", CLEAR))) == ()
    assert alerts(house, diary((9, "sample", FOUND), (9, "sample", CLEAR)))  # of two at one time


@pytest.mark.parametrize(
    ("readings", "said"),
    [
        ([(3, "UV", 0.59)], "On 3 May 2025 UV read 59 %, under the alarm at 60 %."),
        ([(3, "UV", 0.60)], None),
        ([(3, "UV", 0.59), (4, "UV", 0.9)], None),
        ([(3, "UV", 0.9), (4, "UV alarm", ON)], "On 4 May 2025 the UV alarm was on."),
        ([(3, "UV alarm", ON), (4, "UV alarm", OFF)], None),
        ([(3, "UV alarm", ON), (4, "UV", 0.75)], None),
        ([(3, "UV alarm", ON), (4, "meter", 120.0)], "On 3 May 2025 the UV alarm was on."),
        ([], None),
    ],
)
def test_too_little_light_is_told_by_the_last_reading_of_it(house, readings, said):
    assert house.uv.alarm == 0.6
    assert alerts(house, diary(*readings)) == (() if said is None else (f"{said} {ON_ALARM}",))


def test_work_on_the_unit_since_then_asks_for_a_new_reading(house):
    low = (3, "UV", 0.5)
    for task in ("wipe sleeve", "wipe sensor window", "replace lamp"):
        assert alerts(house, diary(low, acts=[(5, task)]))[0].endswith("noted since then: read it again.")
    assert alerts(house, diary(low, acts=[(1, "wipe sleeve")]))[0].endswith(ON_ALARM)
    assert alerts(house, diary(low, acts=[(5, "clean cistern")]))[0].endswith(ON_ALARM)


def test_both_are_told_the_sample_first_and_before_the_state_of_the_house(house, capsys, monkeypatch):
    found = diary((3, "UV", 0.5), (3, "sample", FOUND))
    question = TodayQuestion(site=Site(house), diary=found, today=date(2025, 5, 20), count=4)
    answer = ask(question, Means(1))
    assert len(answer.alerts) == 2 and "sample" in answer.alerts[0]
    assert told(answer, made_up=False)[:3] == [*answer.alerts, answer.sentence]
    monkeypatch.setattr("sim.commands.today.ask", lambda question, means: answer)
    assert cli.main(["today", "family_house"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[:3] == [CAUTION, *answer.alerts]


def test_what_was_read_later_than_the_day_asked_about_is_no_alert_yet(house):
    found = diary((21, "sample", FOUND))
    question = TodayQuestion(site=Site(house), diary=found, today=date(2025, 5, 20), count=4)
    assert ask(question, Means(1)).alerts == ()
