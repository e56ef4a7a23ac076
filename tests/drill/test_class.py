"""A class: its results read back by hand-made rows, its quiz held to the run, and a player without a plan."""

import os
import re

import numpy as np
import pytest

from sim.cli import main
from sim.drill.case import ORDERS, Move, drawn
from sim.drill.expert import expert
from sim.drill.families import families
from sim.drill.play import UNTIL, Play, played
from sim.drill.score import score
from sim.drill.sheets import blank_sheet, key_sheet, quiz
from sim.drill.sight import CHECKS
from sim.errors import InputError
from sim.scenario.read import load

SITE = load.DEMO
HEAD = "seed,probability,right,brier\n"


def written(tmp_path, rows, head=HEAD):
    path = tmp_path / "result.csv"
    path.write_text(head + "\n".join(rows) + "\n", encoding="utf-8")
    return str(path)


def test_a_class_is_told_its_brier_score_and_how_its_probabilities_came_true(tmp_path, capsys):
    """By Brier 1950: 6 of 8 at 0.9 right, 2 at 0.4 wrong, (6 x .01 + 2 x .81 + 2 x .16)/10 = 0.2."""
    rows = ["1,0.9,True,0.01"] * 6 + ["1,0.9,False,0.81"] * 2 + ["1,0.4,False,0.16"] * 2
    assert main(["drill", "--results", written(tmp_path, rows)]) == 0
    shown = capsys.readouterr().out
    assert "10 cases: the cause was right in 6; mean Brier score 0.20 (" in shown
    assert "Of 2 causes given 0 % to 50 %, 40 % on average, 0 % were right." in shown
    assert "Of 8 causes given 80 % to 100 %, 90 % on average, 75 % were right." in shown


def test_few_cases_give_no_shares(tmp_path, capsys):
    rows = ["1,0.9,True,0.01"] * 9 + ["1,,False,0.25"]
    assert main(["drill", "--results", written(tmp_path, rows)]) == 0
    shown = capsys.readouterr().out
    assert "10 cases" in shown
    assert "from 10 cases with a named cause on" in shown
    assert "were right." not in shown


@pytest.mark.parametrize(
    ("rows", "head", "said"),
    [
        (["1,1.2,True,0.04"], HEAD, "line 2: probability: read '1.2'; wanted 0 to 1"),
        (["1,0.8,perhaps,0.04"], HEAD, "right: read 'perhaps'; wanted True or False"),
        (["1,0.8,True,0.5"], HEAD, "brier: read 0.5; wanted 0.04"),
        (["1,0.8"], "seed,probability\n", "no column 'right'"),
    ],
)
def test_results_that_cannot_be_are_refused_in_one_line(rows, head, said, tmp_path, capsys):
    assert main(["drill", "--results", written(tmp_path, rows, head)]) == 2
    shown = capsys.readouterr().err
    assert shown.count("\n") == 1
    assert said in shown


@pytest.mark.parametrize(("name", "units"), [("dark lamp", "us"), ("cistern down to the intake", "si")])
def test_the_quiz_asks_for_numbers_of_this_run_and_the_key_has_them(name, units):
    """A US gallon is 231 cubic inches, an inch 0.0254 m: by definition."""
    case = drawn(SITE, 3, name)
    blank, key = blank_sheet(case, units).decode(), key_sheet(case, units).decode()
    assert all(one in blank and one in key for one in quiz(units))
    amount, hours, low, known, days = re.findall(r"<strong>(.*?)</strong></li>", key)[-5:]
    idle, best, since = played(case), expert(case), case.staged[0].day
    said, unit = amount.split()
    assert unit == {"us": "gal", "si": "L"}[units]
    one_m3 = {"us": 1.0 / (231 * 0.0254**3), "si": 1000.0}[units]
    assert float(said.replace(",", "")) == pytest.approx(
        one_m3 * idle.below_m3[since:].sum(), rel=0.05, abs=0.05
    )
    assert float(hours.removesuffix(" h")) == pytest.approx(idle.off_h[since:].sum(), rel=0.05, abs=0.05)
    assert int(low.removesuffix(" %")) == pytest.approx(100 * idle.reading[since:].min(), abs=0.51)
    assert known == f"day {next(one.day for one in best.log.beliefs if one.cause == name)}"
    assert int(days) == best.mended_day - since


@pytest.mark.parametrize(("units", "foreign"), [("us", r"\d (kPa|L|m)\b"), ("si", r"\d (psi|gal|ft)\b")])
def test_no_sheet_mixes_units(units, foreign):
    """The bucket of 10 L is that of the diary, and is told in both where gallons are read."""
    case = drawn(SITE, 3, "dark lamp")
    for sheet in (blank_sheet(case, units), key_sheet(case, units)):
        text = sheet.decode().replace("2.6 gal (10 L)", "2.6 gal")
        assert not re.findall(foreign, text)
        assert re.search({"us": r"\d (psi|ft)\b", "si": r"\d (kPa|m)\b"}[units], text)


def at_random(rng, play):
    """A move somebody makes who does not think, now and then one that cannot be made."""
    kind = rng.choice(["wait", "until", "check", "act", "act", "believe", "wrong"])
    if kind == "wait":
        return Move(move="wait", days=int(rng.integers(1, 12)))
    if kind == "until":
        return Move(move="wait", what=UNTIL)
    if kind == "check":
        return Move(move="check", what=str(rng.choice(list(CHECKS))))
    if kind == "believe":
        return Move(move="believe", what=str(rng.choice(play.causes)), probability=float(rng.random()))
    what = str(rng.choice(play.acts)) if kind == "act" else "no such thing"
    task = play.scenario.task(what)
    stage = str(rng.choice(play.scenario.stage_names)) if task is not None and task.on_stage else None
    return Move(move="act", what=what, stage=stage, order=str(rng.choice(ORDERS, p=(0.98, 0.01, 0.01))))


@pytest.mark.parametrize("name", [*list(families())[::3], "open bypass"])
def test_whoever_clicks_at_random_breaks_nothing(name):
    """Time only moves on, what cannot be is refused in one line, the score is a number, the truth kept."""
    rng = np.random.default_rng(list(families()).index(name))
    case = drawn(SITE, 11, name)
    play, told, refused = Play(case), [], 0
    for _ in range(40):
        if play.over:
            break
        day, cost, move = play.day, play.cost, at_random(rng, play)
        try:
            told += [(move, words) for words in play.move(move).words]
        except InputError as error:
            refused += 1
            assert "\n" not in str(error)
        assert play.day >= day
        assert play.cost >= cost - 1e-9
    assert play.over or len(play.log.moves) > 20
    ended = play.finish()
    found = score(ended, expert(case))
    for one in (found.own, found.best):
        assert np.isfinite([one.below_m3, one.off_h, one.cost]).all()
        assert min(one.below_m3, one.off_h) >= 0.0
    assert 0.0 <= found.brier <= 1.0
    assert len(play.log.moves) + refused <= 40
    shown = "\n".join(words for move, words in told if move.move != "believe").lower()
    assert name not in shown
    assert families()[name].look.lower() not in shown


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (["1,0.9,True,0.01,7"], "line 2: has 5 cells; wanted 4"),
        (["1,0.9,True,0.01", "2,0_9,True,0.01"], "line 3: probability: read '0_9'; wanted 0 to 1"),
        (["1,0.9,True,-0.01"], "line 2: brier: read '-0.01'; wanted 0 to 1, not below 0"),
    ],
)
def test_results_are_not_misread(rows, said, tmp_path, capsys):
    assert main(["drill", "--results", written(tmp_path, rows)]) == 2
    assert said in capsys.readouterr().err


@pytest.mark.parametrize("option", ["--results", "--case"])
def test_a_pipe_is_refused_and_not_waited_for(option, tmp_path, capsys):
    os.mkfifo(tmp_path / "pipe")
    assert main(["drill", option, str(tmp_path / "pipe")]) == 2
    assert "is a pipe or a device; wanted" in capsys.readouterr().err
