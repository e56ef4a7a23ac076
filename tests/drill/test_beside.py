"""Readings side by side, and the labels that say what is clean and what is due."""

import re

import pandas as pd
import pytest

from sim import cli
from sim.drill.beside import beside
from sim.drill.case import Move, drawn
from sim.drill.play import Play
from sim.drill.sight import Seen
from sim.units import PSI_PA

GAUGES, BUCKET = Move(move="check", what="gauges"), Move(move="check", what="bucket")


def played():
    play = Play(drawn("family_house", 4, None), "us")
    for move in (GAUGES, Move(move="wait", days=7), GAUGES, BUCKET, GAUGES):
        play.move(move)
    return play


def test_a_row_a_day_holds_what_was_looked_at_then_and_nothing_else():
    play = played()
    table = beside(play)
    assert list(table["day"]) == [f"{play.starts}", f"{play.starts + 7}"]
    assert list(table.columns[:4]) == ["day", "UV display", "drop over sediment", "drop over carbon"]
    first, later = (dict(row) for _, row in table.iterrows())
    assert all(first.values())  # on the day of taking over all is looked at
    pump = {"pump starts at", "pump stops at", "pump runs"}
    blank = {name for name, cell in later.items() if not cell}
    assert blank == {*pump, "water in the cistern", "water in a glass", "lamp hours"}


def test_what_stands_side_by_side_is_what_was_said():
    play = played()
    table = beside(play)
    told = " ".join(words for _, words in play.log.said)
    for name in ("drop over sediment", "drop over carbon"):
        assert f"{name} {table[name].iloc[-1]}" in told
    assert f"kitchen tap: {table['bucket'].iloc[-1]}" in told
    noted = " ".join(line for seen in play.notes for line in seen.words)
    shown = table.iloc[0]
    assert f"starts at {shown['pump starts at']}, stops at {shown['pump stops at']}" in noted
    assert f"after {shown['pump runs']} with" in noted and f"{shown['water in the cistern']}, intake" in noted
    assert f"display reads {shown['UV display']};" in noted and f"paper: {shown['water in a glass']}" in noted
    assert f"lamp hours {shown['lamp hours'].removesuffix(' h')}," in noted


def test_a_pump_and_a_tap_that_bring_nothing_say_so():
    play = played()
    for number, (what, values) in enumerate((("pump", {"run": 0.0}), ("bucket", {"seconds": float("inf")}))):
        seen = Seen(what, values, ("",))
        play.log.looks.append((play.day + 1 + number, seen))
    table = beside(play)
    assert table["pump runs"].iloc[-2] == "nothing comes" and table["bucket"].iloc[-1] == "nothing comes"
    assert isinstance(table, pd.DataFrame) and table["UV display"].iloc[-1] == ""


def test_labels_say_what_is_clean_and_what_is_due():
    play = Play(drawn("family_house", 4, None), "us")
    lines = [line for seen in play.notes for line in seen.words if line.startswith("label of the")]
    assert len(lines) == 1 + len(play.scenario.stages)
    for stage, line in zip(play.scenario.stages, lines[1:], strict=True):
        clean, due = (float(one) for one in re.findall(r"([\d.]+) psi", line))
        flow = play.scenario.gauge.reading_flow_m3_s
        by_sheet = stage.linear_pa_s_m3 * flow + stage.quadratic_pa_s2_m6 * flow**2  # one housing each
        assert stage.housings == 1 and abs(clean - by_sheet / PSI_PA) < 0.051
        rules = [rule for policy in play.scenario.policies for rule in policy.rules]
        own = [rule.drop_above_pa for rule in rules if rule.stage == stage.name and rule.drop_above_pa]
        assert due == pytest.approx(own[0] / PSI_PA, abs=0.051)


def test_the_keyboard_asks_for_them_by_a_word(monkeypatch, capsys, tmp_path):
    lines = iter(["check gauges\n", "readings\n", "done\n"])
    monkeypatch.setattr("sys.stdin.readline", lambda: next(lines, ""))
    assert cli.main(["drill", "--seed", "4", "--out", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    assert re.search(r"day +UV display +drop over sediment", said)
