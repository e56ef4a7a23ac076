"""What people at home notice beside the notes: time stops soon after a fault that shows there."""

import pytest

from sim.drill.case import Move, drawn
from sim.drill.play import UNTIL, Play
from sim.scenario.read import load

SITE = load.DEMO
UNTIL_IT = Move(move="wait", what=UNTIL)


@pytest.mark.parametrize(
    ("name", "sign", "said"),
    [
        ("clogged sediment cartridge", "slower", "The taps run slower than they did at first."),
        ("half-shut valve", "slower", "The taps run slower than they did at first."),
        ("clogged carbon cartridge", "moved", "In passing: a gauge does not stand where it was last noted."),
        ("torn cartridge", "moved", "In passing: a gauge does not stand where it was last noted."),
        ("open bypass", "moved", "In passing: a gauge does not stand where it was last noted."),
    ],
)
def test_time_stops_on_the_first_morning(name, sign, said):
    case = drawn(SITE, 1, name)
    play = Play(case)
    seen = play.move(UNTIL_IT)
    assert play.day == case.staged[0].day
    assert seen.values[sign] == 1.0
    assert said in seen.words


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_pump_that_starts_twice_as_often_is_heard_within_days(seed):
    """Half the precharge, half the drawdown by Boyle's law, so that the pump starts about twice as often."""
    case = drawn(SITE, seed, "lost precharge")
    play = Play(case)
    while play.day < case.staged[0].day:
        play.move(Move(move="wait"))
    stops = []
    while play.day < case.staged[0].day + 6:
        stops.append(play.move(Move(move="wait")).values)
    assert any(one["often"] or one["restless"] for one in stops)


def test_a_gauge_that_was_noted_is_told_once():
    play = Play(drawn(SITE, 1, "clogged carbon cartridge"))
    assert play.move(UNTIL_IT).values["moved"] == 1.0
    play.move(Move(move="check", what="gauges"))
    assert play.see().values["moved"] == 0.0
    assert play.move(Move(move="wait")).values["moved"] == 0.0


def test_on_the_first_morning_nothing_has_changed():
    for seed in range(1, 6):
        values = Play(drawn(SITE, seed)).notes[0].values
        assert [values[name] for name in ("slower", "often", "moved")] == [0.0, 0.0, 0.0]


def test_where_people_should_not_drink_they_are_told_at_once():
    play = Play(drawn(SITE, 1, "unplugged unit"))
    assert "nobody drinks until it is mended and the taps are flushed" in play.move(UNTIL_IT).words[0]


def test_a_display_that_falls_while_the_alarm_sounds_already_stops_time():
    case = drawn("forest_house", 3, "film on the sleeve")
    play = Play(case)
    while play.day < case.staged[0].day - 1:
        play.move(Move(move="wait"))
    before = play.see().values
    now = play.move(UNTIL_IT).values
    assert before["alarm"] == now["alarm"] == 1.0
    assert play.day == case.staged[0].day
    assert now["display"] < before["display"] - 0.1
