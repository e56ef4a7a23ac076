"""Forecasts on disk: kept once, read as they were, and never changed without being found out."""

from dataclasses import replace
from datetime import date

import pytest

from sim.diary import archive
from sim.diary.described import FORECASTS
from sim.diary.forecast import Forecast
from sim.errors import InputError

ONE = Forecast(
    date(2027, 5, 1), "UV", 0.6, 730.0, (10.0, 20.5, 1 / 3), (30.0, 40.0), 12.25, 60.0, 45.5, "abc"
)
OTHER = replace(ONE, part="sediment", limit=68947.6)


def test_what_is_kept_comes_back_to_the_last_digit(tmp_path):
    assert archive.read(tmp_path) == ()
    assert archive.keep(tmp_path, [ONE, OTHER]) == 2
    assert archive.read(tmp_path) == (ONE, OTHER)


def test_a_forecast_is_kept_once_a_part_a_day_and_a_diary(tmp_path):
    archive.keep(tmp_path, [ONE])
    again = [ONE, OTHER, replace(ONE, made=date(2027, 5, 2)), replace(ONE, digest="def")]
    assert archive.keep(tmp_path, again) == 3
    assert archive.keep(tmp_path, again) == 0
    assert len(archive.read(tmp_path)) == 4


def test_half_a_line_of_who_was_killed_is_passed_over(tmp_path):
    archive.keep(tmp_path, [ONE, OTHER])
    path = tmp_path / FORECASTS
    whole = path.read_bytes()
    path.write_bytes(whole[:-5])
    assert archive.read(tmp_path) == (ONE,)
    path.write_bytes(whole)
    assert archive.read(tmp_path) == (ONE, OTHER)


@pytest.mark.parametrize(
    ("old", "new", "line"), [(b"12.25", b"13.25", 2), (b"sediment", b"carbon", 3), (b"made", b"Made", 1)]
)
def test_a_line_that_was_changed_is_named(tmp_path, old, new, line):
    archive.keep(tmp_path, [ONE, replace(OTHER, advised_days=1.0)])
    path = tmp_path / FORECASTS
    path.write_bytes(path.read_bytes().replace(old, new, 1))
    with pytest.raises(InputError, match=rf"line {line}: wanted|line {line}: was changed"):
        archive.read(tmp_path)
