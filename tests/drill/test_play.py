"""A case: what shows and what does not, the same bytes again, what is refused, what hurts, and its score."""

import io
import re
from dataclasses import replace

import numpy as np
import pytest

from sim.cli import main
from sim.drill.case import ORDERS, RELIEVED, Case, Move, Staged, case_text, drawn, read_case
from sim.drill.expert import expert
from sim.drill.families import families, other_acts, possible
from sim.drill.log import Belief
from sim.drill.play import UNTIL, Play, played
from sim.drill.reveal import words
from sim.drill.score import believed, by_band, score
from sim.drill.sheets import blank_sheet, key_sheet
from sim.drill.sight import CHECKS, opens
from sim.errors import InputError
from sim.scenario.read import load

SITE = load.DEMO
NAMES = list(families())


def wait(days):
    return Move(move="wait", days=days)


def test_there_are_seventeen_families_and_each_can_be_mended():
    site = load.load(SITE)
    effects = {effect for task in site.tasks for effect in task.effects}
    assert len(NAMES) == 17
    assert possible(site) == NAMES
    for one in families().values():
        assert set(one.mended_by) & (effects | set(other_acts())), one.name
        assert one.look


@pytest.mark.parametrize("name", NAMES)
def test_what_shows_never_names_the_fault(name):
    """A round of all checks, day by day past the fault: no word of it, its effect, or the twin's state."""
    case = drawn(SITE, 7, name)
    play = Play(case)
    said = [words for seen in play.notes for words in seen.words]
    while play.day < case.staged[0].day + 3:
        said += play.move(wait(1)).words
        for check in CHECKS:
            said += play.move(Move(move="check", what=check)).words
    text = "\n".join(said).lower()
    assert name.lower() not in text
    assert families()[name].effect.lower() not in text
    assert not re.search(r"dose|film|worn|fault|broken|clog|torn|drift|waterlog|precharge", text)


def test_a_blank_sheet_is_the_same_whatever_is_staged():
    """Where the house stood alike before: a torn cartridge was full first. The key names what was staged."""
    alike = [name for name, one in families().items() if one.first is None]
    cases = [drawn(SITE, 7, name) for name in alike]
    assert len({blank_sheet(case, "us") for case in cases}) == 1
    assert b"dark lamp, from day" in key_sheet(drawn(SITE, 7, "dark lamp"), "us")


@pytest.mark.parametrize("name", NAMES)
def test_each_family_shows_somewhere(name):
    """Two mornings after the fault, something anyone sees or a check shows reads otherwise without it."""
    case = drawn(SITE, 7, name)
    day = case.staged[0].day + 2
    without = case.model_copy(update={"fault": (Staged(name=name, day=case.ends - 1),)})

    def readings(one):
        play = Play(one)
        play.move(wait(day - play.day))
        looks = [play.see(), *(play.move(Move(move="check", what=check)) for check in CHECKS)]
        return {(seen.what, key): value for seen in looks for key, value in seen.values.items()}

    ours, theirs = readings(case), readings(without)
    far = [
        key for key in ours | theirs
        if not np.isclose(ours.get(key, -1.0), theirs.get(key, -1.0), rtol=0.15, atol=0.04)
    ]  # fmt: skip
    assert far


MOVES = (
    wait(4), Move(move="check", what="gauges"), Move(move="act", what="wipe sleeve"),
    Move(move="believe", what="old lamp", probability=0.7), Move(move="wait", what=UNTIL),
    Move(move="act", what="change cartridge", stage="sediment"), Move(move="act", what="order a tanker"),
)  # fmt: skip


def test_a_case_plays_to_the_same_bytes(tmp_path):
    case = drawn(SITE, 3, "dark lamp").model_copy(update={"moves": MOVES})
    path = tmp_path / "case.toml"
    path.write_text(case_text(case), encoding="utf-8")
    again = read_case(path)
    assert again == case
    one, other = played(case), played(again)
    for name in ("below_m3", "off_h", "reading"):
        np.testing.assert_array_equal(getattr(one, name), getattr(other, name))
    assert one.log == other.log
    assert one.cost == other.cost
    for out in ("a", "b"):
        assert main(["drill", "--case", str(path), "--out", str(tmp_path / out)]) == 0
    for file in ("case.toml", "reveal.txt", "days.csv", "result.csv"):
        assert (tmp_path / "a" / file).read_bytes() == (tmp_path / "b" / file).read_bytes()


def test_a_gauge_read_twice_on_a_day_reads_the_same():
    play = Play(drawn(SITE, 3))
    first, second = (play.move(Move(move="check", what="pump")) for _ in range(2))
    assert first.words == second.words
    play.move(wait(1))
    assert play.move(Move(move="check", what="pump")).values["high"] != first.values["high"]


def test_acts_alone_tell_two_runs_apart():
    """Until the first act both runs are one: the same streams, whoever plays."""
    case = drawn(SITE, 3, "film on the sleeve")
    idle = played(case)
    acted = played(case.model_copy(update={"moves": (wait(20), Move(move="act", what="wipe sleeve"))}))
    day = case.starts + 19
    np.testing.assert_allclose(acted.below_m3[:day], idle.below_m3[:day], rtol=1e-9, atol=1e-12)
    assert acted.reading[day + 3] > idle.reading[day + 3] + 0.1


@pytest.mark.parametrize("order", [one for one in ORDERS if one != RELIEVED])
def test_opening_at_pressure_stops_the_case_and_says_why(order):
    play = Play(drawn(SITE, 3))
    assert opens(play.scenario, "change cartridge")
    said = play.move(Move(move="act", what="change cartridge", stage="sediment", order=order)).words
    assert "Relieve while lit, unplug after, open last." in said[0]
    assert play.over
    with pytest.raises(InputError, match="the case is over"):
        play.move(wait(1))
    assert play.finish().log.acts == []


def test_the_right_order_opens_it():
    play = Play(drawn(SITE, 3))
    play.move(Move(move="act", what="change cartridge", stage="sediment", order=RELIEVED))
    assert not play.over
    assert [what for _, what, _ in play.log.acts] == ["change cartridge, sediment"]


@pytest.mark.parametrize(
    ("move", "said"),
    [
        (Move(move="check", what="gaugs"), "did you mean 'gauges'"),
        (Move(move="act", what="wipe sleve"), "did you mean 'wipe sleeve'"),
        (Move(move="believe", what="gremlins"), "no cause 'gremlins'"),
        (Move(move="wait", what="for ever"), "wanted a number of days"),
        (Move(move="act", what="change cartridge"), "wanted one of the stages"),
    ],
)
def test_what_cannot_be_done_is_refused_and_changes_nothing(move, said):
    play = Play(drawn(SITE, 3))
    with pytest.raises(InputError, match=said):
        play.move(move)
    assert play.log.moves == []
    assert play.day == play.finish().case.starts or play.over


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('site = "family_house"\n[[fault]]\nname = "gremlins"\nday = 130\n', "no fault 'gremlins'"),
        ('[[fault]]\nname = "dark lamp"\nday = 300\n', "day 300 is outside"),
        ("seed = -1\n", "seed"),
        ('[[move]]\nmove = "jump"\n', "jump"),
        ("colour = 1\n", "colour"),
        ("seed = ", "Invalid value"),
    ],
)
def test_a_case_that_cannot_be_is_refused_in_one_line(text, said, tmp_path, capsys):
    path = tmp_path / "case.toml"
    path.write_text(text, encoding="utf-8")
    assert main(["drill", "--case", str(path), "--out", str(tmp_path / "out")]) == 2
    shown = capsys.readouterr().err
    assert shown.count("\n") == 1
    assert said in shown


def test_a_fault_that_is_not_written_is_drawn_by_the_seed():
    assert Case(seed=9).staged == drawn(SITE, 9).staged
    assert len({Case(seed=seed).staged[0].name for seed in range(60)}) > 12


def test_brier_and_calibration_by_hand():
    """By Brier 1950: (p - o)^2; 0.8 right is 0.04, 0.8 wrong 0.64; nothing said is an even guess."""
    ended = played(drawn(SITE, 3, "dark lamp"))
    assert believed(ended) == (False, 0.25)
    said = [
        replace(ended, log=replace(ended.log, beliefs=[Belief(130, cause, probability)]))
        for cause, probability in (("dark lamp", 0.8), ("old lamp", 0.8), ("old lamp", 0.3))
    ]
    assert [believed(one)[1] for one in said] == pytest.approx([0.04, 0.64, 0.09])
    pairs = [(one.log.beliefs[-1].probability, believed(one)[0]) for one in said]
    assert by_band(pairs) == [(0.0, 0.5, pytest.approx(0.3), 0.0, 1), (0.8, 1.01, pytest.approx(0.8), 0.5, 2)]


def test_every_day_of_a_case_is_noted():
    """The last day as the others: a reading does not fall to nothing overnight for want of a note."""
    ended = played(drawn(SITE, 3, "lost precharge"))
    days = ended.reading[ended.case.starts :]
    assert days.size == ended.case.ends - ended.case.starts
    assert np.abs(np.diff(days)).max() < 0.05


def test_who_asks_before_anything_was_wrong_is_told_so():
    case = drawn(SITE, 3, "dark lamp")
    for wait_days, early in ((case.staged[0].day - case.starts - 1, True), (20, False)):
        ended = played(case.model_copy(update={"moves": (wait(wait_days),)}))
        told = words(ended, ended, score(ended, ended), "us")
        assert any("before the fault began" in line for line in told) == early


def test_the_score_counts_from_when_it_could_have_been_known():
    case = drawn(SITE, 4, "open bypass")
    best, idle = expert(case), played(case)
    found = score(idle, best)
    assert found.known_day is not None
    assert found.known_day >= case.staged[0].day
    assert found.own.below_m3 == pytest.approx(idle.below_m3[found.known_day :].sum())
    assert found.own.below_m3 > 10 * found.best.below_m3
    assert found.mended_day is None
    assert found.needless_count == 0


@pytest.mark.parametrize("name", NAMES)
def test_every_family_plays_by_keyboard_to_its_reveal(name, tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("sys.stdin", io.StringIO(f"wait\ncheck handles\nbelieve {name} 70\ndone\n"))
    assert main(["drill", "--seed", "7", "--fault", name, "--out", str(tmp_path)]) == 0
    before, after = capsys.readouterr().out.split("It was: ")
    assert after.startswith(f"{name}, from day {drawn(SITE, 7, name).staged[0].day} on.")
    assert families()[name].look in after
    assert families()[name].caution in after
    assert before.count(name) <= 3 + before.count(f"half-{name}")  # asked from, noted, and the list of all


def test_by_keyboard_from_start_to_reveal(tmp_path, capsys, monkeypatch):
    lines = [
        "check lamp hours", "nonsense", "believe dark lamp", "wait soon", "wait", "do replace lamp",
        "believe dark lamp 90", "do change cartridge at sediment", "9",
        "do change cartridge at sediment", "2", "done",
    ]  # fmt: skip
    monkeypatch.setattr("sys.stdin", io.StringIO("\n".join(lines) + "\n"))
    assert main(["drill", "--seed", "3", "--fault", "dark lamp", "--out", str(tmp_path)]) == 0
    shown = capsys.readouterr().out
    before, after = shown.split("It was: ")
    assert "A bad day, or day below the dose target" in before.splitlines()[0]
    assert "read 'nonsense'; wanted wait, check, readings, do, believe or done" in before
    assert "wanted a cause and its percent" in before
    assert "order: read '9'" in before
    assert after.startswith("dark lamp, from day")
    assert "The last was right, and scores 0.01; 0 is best" in after
    assert (tmp_path / "case.toml").exists()


def test_sheets_for_a_class(tmp_path, capsys):
    assert main(["drill", "--seed", "3", "--sheets", "--out", str(tmp_path)]) == 0
    assert {path.name for path in tmp_path.iterdir()} == {"blank.html", "key.html"}
    assert "blank.html" in capsys.readouterr().out


@pytest.mark.parametrize(("seed", "said"), [("-1", "wanted 0 or more"), (str(2**31 + 1), "at most")])
def test_a_seed_no_case_can_have_is_refused_in_one_line(seed, said, tmp_path, capsys):
    assert main(["drill", "--seed", seed, "--out", str(tmp_path)]) == 2
    err = capsys.readouterr().err
    assert err.count("\n") == 1 and f"seed is {seed}; " in err and said in err
    assert list(tmp_path.iterdir()) == []
