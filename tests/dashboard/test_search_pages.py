"""The pages of searches, run as the server runs them: the numbers are those of the command."""

import time

import pandas as pd
import pytest

from dashboard import frame
from sim import cli
from tests.dashboard.driving import opened, settled, table_with

PATIENCE_S = 600.0  # a search
TRY = "pressure_tank.volume=44 gal,86 gal"
SMALL = "pressure_tank.volume=100 L,160 L"
COST, LESS = "cost, USD a year", "cost less that advised"
ONLY = "replace lamp"  # few levels, so few runs


@pytest.fixture(scope="module")
def sizes():
    at = opened("views/sizes.py", years="1", runs="2", seed="5", tries=TRY, worth="100")
    return settled(at.button(key="go-sizes").click().run(), PATIENCE_S)


def test_the_page_of_sizes_shows_what_the_command_writes(sizes, tmp_path):
    words = ["size", "--years", "1", "--replications", "2", "--seed", "5", "--worth", "100", "--try", TRY]
    assert cli.main([*words, "--policy", "by the readings", "--workers", "1", "--out", str(tmp_path)]) == 0
    written = pd.read_csv(tmp_path / "designs.csv")
    shown = table_with(sizes, COST)
    assert list(shown["design"]) == list(written["design"])
    assert list(shown[COST]) == pytest.approx(list(written["cost"]), abs=0.0051)
    assert list(shown["standing"]) == list(written["fate"])


def test_the_page_of_sizes_answers_first_with_its_caution_and_tells_the_choice_in_words(sizes):
    assert sizes.header[0].value == "The answer"
    assert any("local codes and licensed practice" in item.value.lower() for item in sizes.info)
    first = table_with(sizes, COST)["design"].iloc[0]
    assert any(
        first in item.value.replace("\\", "") and "the choice" in item.value for item in sizes.markdown
    )


def test_a_search_under_way_shows_what_it_has_run_and_keeps_it_when_it_is_stopped():
    at = opened("views/sizes.py", years="3", runs="40", seed="6", tries=TRY)
    at.button(key="go-sizes").click().run()
    until = time.monotonic() + PATIENCE_S
    while not any(job.partial for job in frame.jobs()._jobs.values()):
        assert time.monotonic() < until
        time.sleep(0.05)
    at.run()
    tried = set(table_with(at, COST)["tried"])
    assert tried and tried <= {"tank 44 gal", "tank 86 gal"}  # one may fail a criterion and is not run
    assert any("no verdict" in item.value for item in at.caption)
    assert any("local codes and licensed practice" in item.value.lower() for item in at.info)
    for key, job in list(frame.jobs()._jobs.items()):
        if job.active:
            frame.jobs().cancel(key)
    settled(at, PATIENCE_S)
    assert any("no verdict" in item.value for item in at.warning)
    assert set(table_with(at, COST)["tried"]) == tried


def test_alternatives_that_will_not_do_are_refused_in_one_line():
    at = opened("views/sizes.py", tries="stage.sedment.size=2.5x10,4.5x10")
    assert not at.exception
    assert at.text[0].value.startswith("stage.sedment.size: no stage 'sedment'; did you mean 'sediment'?")


def test_something_to_choose_between_is_added_without_its_key():
    at = opened("views/sizes.py", tries=TRY)
    known = at.selectbox(key="add-what")
    assert {"Pressure tank, volume", "sediment: nominal cartridge size"} <= set(known.options)
    assert len(known.options) == len(set(known.options)) >= 6
    known.set_value("pressure_tank.volume")
    at.text_input(key="add-values").set_value("20 gal, 44 gal, 86 gal").run()
    at.button(key="add-try").click().run()
    assert not at.exception
    assert (
        at.text_area(key="tries").value == "pressure_tank.volume=20 gal, 44 gal, 86 gal"
    )  # in place of that
    at.selectbox(key="add-what").set_value("stage.sediment.size")
    at.text_input(key="add-values").set_value("2.5x10,4.5x10").run()
    at.button(key="add-try").click().run()
    assert at.text_area(key="tries").value.endswith("\nstage.sediment.size=2.5x10,4.5x10")
    assert any(item.value.startswith("6 designs") for item in at.caption)


def test_the_page_of_intervals_shows_what_the_command_writes(tmp_path):
    at = opened("views/intervals.py", years="1", runs="2", seed="5", worth="200")
    at.multiselect(key="only-by the calendar").select(ONLY).run()
    settled(at.button(key="go-tune").click().run(), PATIENCE_S)
    words = ["tune", "--years", "1", "--replications", "2", "--seed", "5", "--worth", "200", "--only", ONLY]
    assert cli.main([*words, "--policy", "by the calendar", "--workers", "1", "--out", str(tmp_path)]) == 0
    written = pd.read_csv(tmp_path / "curves.csv")
    shown = table_with(at, LESS)
    assert list(shown[LESS]) == pytest.approx(list(written["cost_less_choice"]), abs=0.0051)
    assert list(shown["advised"]) == list(written["chosen"])
    assert written["chosen"].sum() == 1


def test_the_page_of_sizes_takes_a_pressure_and_intervals_as_the_command_does():
    at = opened("views/sizes.py", years="1", runs="2", tries=SMALL, worth="500")
    at.selectbox(key="site").set_value("cottage").run()
    at.text_input(key="limit_tap").set_value("20 gpm").run()
    assert at.text[0].value.startswith("limit-tap: read '20 gpm'; is flow; wanted")
    at.text_input(key="limit_tap").set_value("90 psi").run()
    assert at.text[0].value == "limit-tap is 90.0 psi; wanted 0 to 50.8 psi, where the pump stops"
    at.multiselect(key="size_policies").set_value(["nothing done"]).run()
    assert at.multiselect(key="with_intervals").options == []
    at.multiselect(key="size_policies").set_value(["by the calendar"]).run()
    at.text_input(key="limit_tap").set_value("5 psi").run()
    at.multiselect(key="with_intervals").set_value([ONLY]).run()
    assert not at.exception
    levels = next(item.value for item in at.caption if item.value.startswith("2 designs"))
    assert int(levels.split("in ")[1].split(" way")[0]) > 1
    settled(at.button(key="go-sizes").click().run(), PATIENCE_S)
    shown = table_with(at, "cost, EUR a year")
    assert any(f"{ONLY} at" in name for name in shown["policy"])
    assert (shown["pressure of 19 of 20 draws, psi"] >= 5).any()
