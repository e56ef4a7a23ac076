"""The first page without a browser: what it shows at once, what a reading does, what is asked about."""

import csv
import os
from datetime import date, timedelta

import pytest
from streamlit.testing.v1 import AppTest

from dashboard.diaries import folder_of, works
from dashboard.site import site_of
from sim.diary.home import there
from sim.scenario.read import load
from tests.dashboard.driving import APP, read, settled

HEADERS = ["Part by part", "Next visit", "Enter a reading", "What to check first"]


def opened(**state):
    at = AppTest.from_file(APP, default_timeout=60)
    for name, value in state.items():
        at.query_params[name] = value
    return at.run()


def said(at):
    words = [item.value for item in (*at.markdown, *at.caption, *at.warning)]
    return read(" ".join(words))


@pytest.fixture
def diaries(tmp_path, monkeypatch):
    monkeypatch.setitem(os.environ, "CISTERNTWIN_DIARIES", str(tmp_path))
    return tmp_path


def enter(at, words, typed, on=None):
    at.selectbox(key="read-what").set_value(words)
    if on is not None:
        at.date_input(key="read-on").set_value(on)
    at.text_input(key="read-number").set_value(typed)
    at.button[[one.label for one in at.button].index("Add it")].click()
    return at.run()


def test_an_answer_stands_there_before_anything_is_sampled_and_after(diaries):
    del diaries
    at = opened(site="Family house")
    first = said(at)
    assert "By the calendar alone" in first or "from 49 readings" in first
    found = said(settled(at))
    assert "Family house on 11 May 2025, from 49 readings" in found
    assert "invented" in found and "Every range here is the one in which 8 of 10" in found
    assert "No real household's readings have been compared" in found
    assert [one.value for one in at.header] == HEADERS


def test_what_to_check_first_is_one_choice_away(diaries):
    del diaries
    at = settled(opened(site="Family house"))
    at.button_group(key="sign").set_value("weak taps").run()
    settled(at)
    assert "Likely: sediment cartridge clogged (34 %)" in said(at)


def test_a_reading_begins_a_diary_of_its_own_and_moves_the_state(diaries):
    at = settled(opened(site="Cottage"))
    assert "nothing was read or noted yet" in said(at)
    assert "Read " in said(at)  # the readings that would help
    at = settled(enter(at, "UV", "64 %"))
    assert "from 1 reading" in said(at)
    with (diaries / "cottage_diary" / "readings.csv").open(newline="") as file:
        (row,) = csv.DictReader(file)
    assert (row["observed_property"], row["result"], row["unit"]) == ("UV", "64", "%")
    assert row["phenomenon_time"].startswith(date.today().isoformat())


@pytest.mark.parametrize(
    ("units", "words", "typed", "taken"),
    [
        ("US", "drop over sediment", "4", "drop over sediment 4 psi"),
        ("SI", "drop over sediment", "27", "drop over sediment 27 kPa"),
        ("US", "meter", "120", "meter 120 m3"),
        ("US", "UV alarm", "off", "UV alarm off"),
    ],
)
def test_a_number_without_a_unit_is_told_in_the_unit_it_was_taken_in(diaries, units, words, typed, taken):
    del diaries
    at = enter(opened(site="Cottage", units=units), words, typed)
    assert f"Taken as: {taken}." in said(at)
    at.selectbox(key="site").set_value("Family house").run()
    assert "Taken as" not in said(at)  # another house has a diary of its own


@pytest.mark.parametrize(("button", "results"), [("It is right", ["28", "28"]), ("Take it back", ["28", ""])])
def test_a_number_that_looks_odd_is_asked_about_and_never_dropped(diaries, button, results):
    at = enter(opened(site="Cottage"), "drop over sediment", "28 psi")
    assert "did you mean 28 kPa" in said(at)
    elsewhere = at.selectbox(key="site").set_value("Family house").run()
    assert "did you mean" not in said(elsewhere)  # its answer would go to another diary
    at = at.selectbox(key="site").set_value("Cottage").run()
    at.button[[one.label for one in at.button].index(button)].click().run()
    assert "did you mean" not in " ".join(one.value for one in at.warning)
    assert ("Taken as: drop over sediment 28 psi." in said(at)) == (button == "It is right")
    with (diaries / "cottage_diary" / "readings.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["result"] for row in rows] == results
    assert rows[1]["replaces"] == rows[0]["mark"]


def test_a_sample_that_found_something_stands_above_all_until_one_is_clear(diaries):
    del diaries
    at = enter(opened(site="Cottage"), "sample", "found", date.today() - timedelta(days=9))
    (alert,) = at.error
    assert "found what it was tested for" in read(alert.value)
    order = [one.value for one in (*at.error, *at.markdown)]
    assert order[0] == alert.value
    at = settled(at)
    assert [one.value for one in at.error] == [alert.value]
    assert "Kept, but of no weight in this: sample." in said(at)
    assert not enter(at, "sample", "clear").error


def test_what_cannot_be_read_is_refused_in_a_line(diaries):
    at = enter(opened(site="Cottage"), "UV", "bright")
    assert "wanted a number in %" in said(at)
    assert not there(diaries / "cottage_diary")


def test_a_damaged_diary_is_said_and_nothing_is_shown_of_it(diaries):
    folder = diaries / "cottage_diary"
    folder.mkdir()
    (folder / "readings.csv").write_text("date,what\n2025-01-01,UV\n")
    at = opened(site="Cottage")
    assert [one.value for one in at.error] == ["This diary cannot be read:"]
    assert "readings.csv: line 1" in " ".join(one.value for one in at.text)


def test_a_folder_is_never_called_what_an_uploaded_file_says(diaries):
    site = site_of("cottage", b'extends = "cottage"\n', "../../etc/my house!.toml", None, "")
    assert folder_of(site) == diaries / "my_house_diary"
    assert "change cartridge: sediment" in works(site)
    assert set(load.built_in()) >= {"cottage"}
