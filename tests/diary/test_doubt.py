"""Readings that look odd are asked about, and never dropped."""

from datetime import date, datetime

import pytest

from sim.diary.book import Book
from sim.diary.doubt import doubts
from sim.errors import InputError
from sim.scenario.read.load import load

TODAY = date(2027, 6, 1)
ENTERED = datetime(2027, 6, 1, 8)
PSI = 6894.757293168361  # NIST SP 811: 1 lbf/in2


@pytest.fixture(scope="module")
def site():
    return load("family_house")


@pytest.mark.parametrize(
    ("what", "value", "unit", "words"),
    [
        ("drop over sediment", "62", "psi", "did you mean 62 kPa"),
        ("pressure at cut-out", "400", "psi", "did you mean 400 kPa"),
        ("drop over sediment", "-6", "psi", "read the wrong way round, so that you mean 6"),
        ("pressure at cut-in", "60", "psi", "where cut-out is 60.0 psi: was it read at cut-out?"),
        ("pressure at cut-out", "40", "psi", "where cut-in is 40.0 psi: was it read at cut-in?"),
        ("UV", "0.71", "%", "did you mean 71 %"),
        ("cistern share", "0.6", "%", "did you mean 60 %"),
        ("cistern level", "47", "mm", "which is below the intake: which unit was meant"),
        ("UV", "150", "%", "is 100 % of this monitor a new and clean unit"),
        ("cistern level", "12", "m", "which unit was meant"),
        ("seconds to fill 10 L at the kitchen tap", "900", "s", "is that right"),
    ],
)
def test_what_looks_odd_is_asked_about_and_kept(tmp_path, site, what, value, unit, words):
    book = Book(tmp_path, site, TODAY)
    row = {"phenomenon_time": "2027-03-01", "observed_property": what, "result": value, "unit": unit}
    book.add_readings([row], ENTERED)
    found = book.read().readings
    assert len(found) == 1
    assert [words in one.question and one.question.endswith("?") for one in doubts(found, site)] == [True]
    sure = Book(tmp_path / "sure", site, TODAY)
    sure.add_readings([{**row, "result_quality": "sure"}], ENTERED)
    assert doubts(sure.read().readings, site) == ()


@pytest.mark.parametrize(
    ("what", "unit", "values", "asked"),
    [
        ("drop over sediment", "psi", (4, 31, 5), [31]),
        ("drop over sediment", "psi", (20, 31, 35, 33), []),  # it clogs
        ("drop over sediment", "psi", (2, 31, 35, 33), [31]),  # it stays so, and was asked about
        ("drop over sediment", "psi", (31, 33), [31]),
        ("UV", "%", (71, 0.71, 70), [0.0071]),
        ("UV", "%", (9, 3, 1, 1), []),  # nobody wipes it
        ("pressure at cut-out", "psi", (59, 30, 12, 58), [30]),  # a pump fails
        ("pressure at rest", "psi", (12, 30, 58), []),
        ("cistern share", "%", (15, 1, 1), []),  # it runs dry
        ("cistern share", "%", (60, 1, 60), [0.01]),
    ],
)
def test_a_reading_like_the_one_before_is_not_asked_about(tmp_path, site, what, unit, values, asked):
    book = Book(tmp_path, site, TODAY)
    rows = [
        {
            "phenomenon_time": f"2027-03-{day + 1:02}",
            "observed_property": what,
            "result": f"{value}",
            "unit": unit,
        }
        for day, value in enumerate(values)
    ]
    book.add_readings(rows, ENTERED)
    found = [one.reading.value for one in doubts(book.read().readings, site)]
    assert found == pytest.approx([one * (PSI if unit == "psi" else 1.0) for one in asked])


@pytest.mark.parametrize("unit", ["psi", "PSI", "Psi"])
def test_a_unit_may_be_written_in_capitals(tmp_path, site, unit):
    book = Book(tmp_path, site, TODAY)
    row = {"phenomenon_time": "2027-03-01", "observed_property": "precharge", "result": "38", "unit": unit}
    book.add_readings([row], ENTERED)
    assert book.read().readings[0].value == pytest.approx(38.0 * PSI)


@pytest.mark.parametrize("unit", ["mPa", "mpa", "M3", "psia", "P"])
def test_no_unit_is_guessed(tmp_path, site, unit):
    row = {"phenomenon_time": "2027-03-01", "observed_property": "precharge", "result": "38", "unit": unit}
    with pytest.raises(InputError, match="wanted one of Pa, kPa, bar, psi, MPa"):
        Book(tmp_path, site, TODAY).add_readings([row], ENTERED)
