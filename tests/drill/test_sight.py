"""What shows is so: a pump without water does not start, dry taps of one's own work are told as that."""

import re

import pytest

from sim.constants import DAY_S
from sim.drill.case import Case, Move, Staged, drawn
from sim.drill.play import NOTED, TANKER, Play
from sim.drill.price import takes
from sim.drill.sight import opens
from sim.scenario.read import load

ALARM = re.compile(r"The UV display reads ([0-9]+) %; (the alarm sounds|no alarm)")


def wait(days):
    return Move(move="wait", days=days)


def look(play, what):
    return " ".join(play.move(Move(move="check", what=what)).words)


@pytest.mark.parametrize("site", load.built_in())
def test_every_act_says_what_it_takes(site):
    play = Play(Case(site=site, seed=1, starts=120, fault=(Staged(name="dark lamp", day=130),)))
    prices, people, store = play.scenario.prices, play.scenario.people, play.scenario.cistern
    for what in play.acts:
        for stage in play.scenario.stage_names:
            said = takes(play, what, stage)
            assert re.match(r"Takes [0-9.,]+ min (by a technician|of your time)", said)
            assert f"after a wait of {people.technician_lead_s / DAY_S:g} days or more" in said or (
                "of your time" in said
            )
    load_price = prices.tanker_load + prices.tanker_m3 * store.top_up_m3
    assert f"it comes in {store.top_up_lead_s / DAY_S:g} days or more" in takes(play, TANKER, None)
    told = float(re.search(r"up to ([0-9,]+)", takes(play, TANKER, None)).group(1).replace(",", ""))
    assert told == pytest.approx(load_price, rel=0.01)


def test_without_water_the_pump_does_not_start_and_nothing_comes():
    empty = Staged(name="cistern down to the intake", day=122)
    play = Play(Case(site="cottage", seed=12, starts=120, fault=(empty,)))
    assert re.search(r"stops at .* after", look(play, "pump"))
    while play.day < 124:
        said = play.move(wait(1)).words
    assert "No water comes at the taps." in said
    assert look(play, "pump").split(NOTED)[0].strip() == "pump: does not start, or runs and brings nothing"
    assert look(play, "bucket").startswith("bucket at the kitchen tap: nothing comes")
    assert set(re.findall(r"[0-9.]+ psi", look(play, "gauges").split(NOTED)[0])) == {"0.0 psi"}
    again = play.scenario.cistern.intake_m + play.scenario.restart_m
    assert f"starts again from {again / 0.3048:.1f} ft on" in look(play, "cistern stick")


def test_taps_that_were_shut_for_ones_own_work_are_told_as_that():
    play = Play(drawn("cottage", 8, "old lamp"))
    play.move(Move(move="act", what="change cartridge", stage="sediment"))
    seen = play.move(wait(1))
    assert "The taps ran as usual since yesterday, but for the time of the work." in seen.words
    assert not seen.values["dry"]


@pytest.mark.parametrize("seed", range(4))
def test_display_and_alarm_agree(seed):
    play = Play(drawn("family_house", seed, "film on the sleeve"))
    limit, seen = 100.0 * play.scenario.uv.alarm, []
    while not play.over:
        found = ALARM.match(play.move(wait(1)).words[0])
        if found:
            seen.append((float(found[1]), found[2] != "no alarm"))
    assert any(sounds for _, sounds in seen)
    for read, sounds in seen:
        assert sounds == (read < limit)


def test_a_house_with_a_small_tank_is_not_said_to_pump_in_seconds():
    """The cottage's pump runs for less than a minute as it is: what it always did is no sign."""
    play = Play(drawn("cottage", 8, "open bypass"))
    seen = [play.move(wait(1)) for _ in range(20)]
    assert not any(one.values["restless"] for one in seen)
    case = drawn("cottage", 8, "waterlogged tank")
    bad, day = Play(case), case.staged[0].day
    assert any(bad.move(wait(1)).values["restless"] for _ in range(day + 5 - bad.day))


def test_a_pump_that_was_worked_on_is_heard_anew():
    """After the switch was set the days before it say nothing: the pump starts as it did."""
    case = drawn("family_house", 1, "pressure switch drifted")
    play, day = Play(case), case.staged[0].day
    heard = [play.move(wait(1)).values["often"] for _ in range(day + 6 - play.day)]
    assert any(heard)
    play.move(Move(move="act", what="set the pressure switch"))
    assert not any(play.move(wait(1)).values["often"] for _ in range(10))


def test_taps_are_told_as_they_run_now_after_work_and_after_a_dry_day():
    case = drawn("family_house", 1, "shut valve")
    play, day = Play(case), case.staged[0].day
    while play.day < day:
        seen = play.move(wait(1))
    assert "No water comes at the taps." in seen.words
    done = play.move(Move(move="act", what="put handles and plug right"))
    assert done.words[0] == "Done: put handles and plug right."
    assert "The taps run as they did at first." in done.words
    assert "The taps run as they did at first." in play.see().words
    after = play.move(wait(1)).words
    assert any(line.startswith("Yesterday the taps gave nothing for a time; they run") for line in after)
    assert "The taps ran as usual since yesterday." in play.move(wait(1)).words


@pytest.mark.parametrize("site", load.built_in())
def test_whatever_opens_a_part_at_pressure_asks_for_the_order(site):
    scenario = load.load(site)
    opening = {task.name for task in scenario.tasks if opens(scenario, task.name)}
    assert {"change cartridge", "wipe sleeve", "wipe sensor window"} <= opening  # the port of a sensor is wet
    assert not opening & {"clear gutters", "clean cistern", "take a sample"}


def test_colour_is_mended_by_carbon_alone():
    case = drawn("family_house", 1, "coloured water")
    for stage, mends in (("sediment", False), ("carbon", True)):
        play = Play(case)
        while play.day < case.staged[0].day:
            play.move(wait(1))
        before = play.see().values["display"]
        play.move(Move(move="act", what="change cartridge", stage=stage))
        assert play.log.acts[-1][1:] == (f"change cartridge, {stage}", mends)
        assert (play.see().values["display"] > before + 0.03) == mends


@pytest.mark.parametrize("seed", range(4))
def test_the_display_has_whole_percents_in_what_is_kept_as_in_what_is_said(seed):
    play = Play(drawn("cottage", seed, "old lamp"))
    shown = list(play.log.displays.values())[-1]
    assert 100.0 * shown == pytest.approx(round(100.0 * shown), abs=1e-9) and shown > 0.0
