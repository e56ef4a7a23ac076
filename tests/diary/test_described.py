"""`datapackage.json` beside diary and rows: it names the columns that are there, in words of the standard."""

import csv
import json
import re
from datetime import date, datetime

import pandas as pd
import pytest

from sim.diary.book import Book
from sim.diary.described import FORECASTS, described
from sim.diary.home import invented
from sim.outcome.package import PACKAGE, unit_of
from sim.scenario.read.load import load
from sim.study.runs import store
from tests.accuracy import stated

# Table Schema, section "Field Types", and Data Package 2.0, "name" (both from memory).
TYPES = {"string", "number", "integer", "boolean", "date", "datetime", "time", "any"}
NAME = re.compile(r"[a-z0-9._-]+")


def columns(content):
    """Return the columns by file, with what the standard asks of a package held on the way."""
    told = json.loads(content)
    assert NAME.fullmatch(told["name"]) and told["resources"]
    for one in told["resources"]:
        assert NAME.fullmatch(one["name"]) and "/" not in one["path"] and ".." not in one["path"]
        assert {field["type"] for field in one["schema"]["fields"]} <= TYPES
    return {one["path"]: [field["name"] for field in one["schema"]["fields"]] for one in told["resources"]}


def header(file):
    with file.open(newline="") as lines:
        return next(csv.reader(lines))


def test_a_diary_says_what_its_columns_are(tmp_path):
    book = Book(tmp_path / "new", load("cottage"), date(2026, 5, 14))
    row = {"phenomenon_time": "2026-05-13", "observed_property": "UV", "result": "71", "unit": "%"}
    book.add_readings([row], datetime(2026, 5, 14, 9))
    book.add_acts([{"date": "2026-05-13", "task": "wipe sleeve"}], datetime(2026, 5, 14, 9))
    found = columns((tmp_path / "new" / PACKAGE).read_bytes())
    assert {*found} == {"readings.csv", "acts.csv", FORECASTS}
    for name in ("readings.csv", "acts.csv"):
        assert found[name] == header(tmp_path / "new" / name)


def test_the_invented_diary_is_described():
    folder = invented(None)
    assert (folder / PACKAGE).read_bytes() == described()
    for name in ("readings.csv", "acts.csv"):
        assert columns(described())[name] == header(folder / name)


def test_rows_say_what_their_columns_are():
    table = pd.DataFrame({"policy": ["a"], "replication": [1], "cost": [2.0], "water_off_h": [0.5]})
    files = store.rows_files(table)
    assert columns(files[PACKAGE]) == {"rows.csv": list(table.columns)}
    fields = json.loads(files[PACKAGE])["resources"][0]["schema"]["fields"]
    assert [one["type"] for one in fields] == ["string", "integer", "number", "number"]
    assert [one.get("unit", "") for one in fields] == ["", "", "currency/yr", "h/yr"]


@pytest.mark.parametrize("line", stated(), ids=lambda line: line["column"])
def test_a_column_has_the_unit_its_accuracy_is_stated_in(line):
    assert unit_of(line["column"]) == line["unit"]
