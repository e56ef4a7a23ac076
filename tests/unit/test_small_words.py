"""Small things commands say and ask: options, a display that reads too much, the order of a drill's work."""

import argparse
import io
from datetime import datetime
from types import SimpleNamespace

import pandas as pd
import pytest

from sim.commands import drill, today
from sim.commands.inputs import options_of
from sim.diary.doubt import _light
from sim.diary.entries import Reading
from sim.drill.case import ORDERS
from sim.errors import InputError
from sim.report.html.size_report import _rows
from sim.scenario.read.load import load


def test_options_told_are_those_that_were_given_and_bear_on_the_answer():
    given = argparse.Namespace(
        years=5, seed=0, within=None, full=False, one_rain_year=True, policy=[], tries=["a=1,2"],
        out="out", workers=2, _hidden=1,
    )  # fmt: skip
    assert options_of(given) == {"years": 5, "seed": 0, "one-rain-year": True, "try": ["a=1,2"]}


def test_a_display_above_new_and_clean_is_asked_about_as_it_reads():
    said = _light(Reading(datetime(2027, 1, 1, 9), "UV", 1.2), None)
    assert said == "UV 120 %: is 100 % of this monitor a new and clean unit?"


@pytest.mark.parametrize("said", ["0", str(len(ORDERS) + 1), "", "one"])
def test_an_order_that_was_not_offered_is_refused(said, monkeypatch, capsys):
    monkeypatch.setattr("sys.stdin", io.StringIO(f"{said}\n"))
    with pytest.raises(
        InputError, match=f"order: read {said!r}; wanted 1 to {len(ORDERS)}; nothing was done"
    ):
        drill._order(SimpleNamespace(scenario=load("family_house")), "change cartridge")


@pytest.mark.parametrize("at", range(1, len(ORDERS) + 1))
def test_an_order_is_the_one_that_stands_at_its_number(at, monkeypatch, capsys):
    monkeypatch.setattr("sys.stdin", io.StringIO(f"{at}\n"))
    chosen = drill._order(SimpleNamespace(scenario=load("family_house")), "change cartridge")
    assert f"{at} {chosen}" in capsys.readouterr().out and chosen in ORDERS


def test_a_task_that_opens_nothing_needs_no_order():
    play = SimpleNamespace(scenario=load("family_house"))
    assert drill._order(play, "clear gutters and diverter") == drill._order(play, "no such task") == ORDERS[0]


def test_of_what_would_help_the_two_first_are_told():
    answer = SimpleNamespace(
        alerts=(), sentence="It stands well.", lines=("a", "b"), waiting_words="Nothing waits.", visit=None,
        unfit=(), asked=(), wish_words=("read the UV", "read a drop", "read the meter"), away=(), unused=(),
        score_words="",
    )  # fmt: skip
    text = "\n".join(today.told(answer, made_up=False))
    assert "read the UV" in text and "read a drop" in text and "read the meter" not in text


def test_a_report_of_sizes_tells_shares_in_hundredths():
    names = ("cost", "days_below_target", "water_off_h", "tap_least_pa", "tap_p5_pa", "cartridge_days",
             "pump_starts", "short_runs", "cistern_empty_days")  # fmt: skip
    line = {"design": "small", "policy": "a", "fate": "chosen", "runs": 20, "over_uv_share": 0.62}
    lines = pd.DataFrame([line | dict.fromkeys(names, 1.0)])
    ((*_, share, _dry),) = _rows(SimpleNamespace(lines=lines), "si")
    assert share == "62"
