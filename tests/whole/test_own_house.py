"""A stage, a task and a slip that one site file defines are in every command; no code knows their names.

What is expected is read off that file and the calendar, or follows from what a full screen does to a house.
"""

import ast
import subprocess
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import vobject

from sim.cli import main
from sim.commands.check import FAILS
from sim.scenario.read.load import load
from sim.study.tune.settings_grid import dials
from sim.twin.run import common_inputs, run
from sim.units import PSI_PA

ROOT = Path(__file__).parents[2]
SITE = ROOT / "tests" / "own_house.toml"
STAGE, TASK, SLIP = "screen", "rinse screen", "screen left beside the sink"
LABEL = f"{TASK}: {STAGE}"
CALENDAR, READINGS = "by the calendar", "by the readings"
SHORT = ("--years", "1", "--replications", "2", "--workers", "1", "--seed", "1")


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    """Give a command to the site; return its output and its folder, one run of each."""
    known = {}

    def ask(capsys, command, *words):
        if command not in known:
            out = tmp_path_factory.mktemp(command)
            assert main([command, str(SITE), *words, "--out", str(out)]) == 0
            known[command] = " ".join(capsys.readouterr().out.split()), out
        return known[command]

    return ask


@pytest.fixture(scope="module")
def history():
    """The site under its first policy for a year."""
    scenario = load(SITE)
    return run(scenario, scenario.policies[0], common_inputs(scenario, 0, 1, 1))


def test_their_names_stand_in_no_code():
    listed = subprocess.run(
        ["git", "ls-files", "sim", "dashboard", "scenarios"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    ).stdout.split()  # fmt: skip
    texts = [(ROOT / name).read_text("utf-8") for name in listed if (ROOT / name).suffix != ".parquet"]
    assert len(texts) > 200
    assert not any(name in text for text in texts for name in (TASK, SLIP))


def test_no_code_goes_by_the_name_of_a_task_or_a_slip():
    """Sentences of help may name one as an example; a text that is nothing but a name would be gone by."""
    site = load("family_house")
    names = {one.name for one in (*site.tasks, *site.slips)}
    assert len(names) == 20
    found = {
        (path.name, node.value)
        for top in ("sim", "dashboard")
        for path in (ROOT / top).rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Constant) and node.value in names
    }
    assert found == set()


def test_the_stage_says_only_what_differs_and_where_it_stands():
    scenario = load(SITE)
    own, like = scenario.stages[:2]
    assert scenario.stage_names == (STAGE, "sediment", "carbon")
    differs = {
        name for name in type(own).model_fields if getattr(own, name) != getattr(like, name)
    }  # fmt: skip
    assert differs == {"name", "rating_m", "dirt_capacity_kg", "price"}


def test_the_stage_catches_and_the_task_takes_most_of_it_out(history):
    """Each rinse leaves a fifth of the dirt: a screen that was nearly full lets water through again."""
    done = [event for event in history.events if event.kind == "task" and event.subject == LABEL]
    days = {int(event.time_s // 86400) for event in done}
    rinses = [d for d in days if d < history.n_days - 1 and history.drops_pa[d - 1, 0] > 20e3]
    assert rinses
    assert all(history.drops_pa[d, 0] < 0.5 * history.drops_pa[d - 1, 0] for d in rinses)
    assert history.costs.cartridges < sum(event.kind == "task" for event in history.events)
    assert max(balance.error for balance in history.balances) < 1e-9


def test_a_rinse_costs_work_and_no_cartridge(history):
    done = [event for event in history.events if event.kind == "task" and event.subject == LABEL]
    changed = [event for event in history.events if event.subject == f"change cartridge: {STAGE}"]
    assert len(done) >= 5
    assert {event.cost for event in done} == {0.0}
    assert {event.value for event in done} == {load(SITE).minutes(TASK)}
    assert all(event.cost == 45.0 for event in changed if event.kind == "task")


def test_the_slip_happens_is_noticed_and_put_right(history):
    found = [lapse for lapse in history.lapses if lapse.subject == SLIP]
    assert found
    assert {(lapse.task, lapse.step) for lapse in found} == {(TASK, "stand it back")}
    ended = [lapse for lapse in found if np.isfinite(lapse.end_s)]
    assert ended
    assert {lapse.route for lapse in ended} <= {"taps", "next visit"}  # the ways its file gives
    for lapse in ended:
        held = history.drops_pa[int(lapse.start_s // 86400) + 1 : int(lapse.end_s // 86400), 0]
        # an empty sump has its ports alone, 0.01 psi/gpm2 at 5 gpm, and a fiftieth of a clean screen
        np.testing.assert_allclose(held, (0.01 * 25 + 0.02 * 0.03 * 5) * PSI_PA, rtol=0.02)


def test_the_rest_of_the_house_meets_the_chance_it_met_before():
    plain, own = load("family_house"), load(SITE)
    one, other = (common_inputs(site, 3, 7, 1) for site in (plain, own))
    n, m = len(plain.tasks), len(own.tasks)
    assert m == n + 1
    for name in ("adherence", "delay", "slips", "noticing"):
        before, now = getattr(one, name), getattr(other, name)
        np.testing.assert_array_equal(now[:n], before[:n])
        np.testing.assert_array_equal(now[m + 1 : m + 3], before[n:])  # sediment and carbon, after the screen
        assert len(now) == m + 3 + 3  # a task on stages has a row for each of them
        assert not (now[m + 3] == now[m]).all()  # a rinse and a change of one stage are not one chance
    np.testing.assert_array_equal(other.reading_noise[:, 1:], one.reading_noise)
    np.testing.assert_array_equal(other.draws.start_s, one.draws.start_s)


def test_check_tells_of_a_stage_that_is_never_changed(capsys):
    assert main(["check", str(SITE)]) == FAILS
    said = capsys.readouterr().out
    assert "drop over screen at" in said
    line = next(line for line in said.splitlines() if "ever changes" in line)
    assert line.endswith(f"ever changes the cartridge of '{STAGE}'.")
    assert CALENDAR not in line and "nothing done" not in line
    assert READINGS in line and "as things fail" in line


def test_compare_has_them(told, capsys):
    said, out = told(capsys, "compare", *SHORT, "--policy", CALENDAR, "--policy", READINGS)
    assert f"No rule of '{READINGS}' ever changes the cartridge of '{STAGE}'." in said
    assert "ever changes the cartridge" in (out / "report.html").read_text()
    rows = pd.read_csv(out / "rows.csv").set_index("policy")
    # nobody rinses by the readings: a screen of 8 g is full in weeks, and the taps stay dry for months
    assert rows.loc[READINGS, "water_off_h"].min() > 24.0 * 60.0 > rows.loc[CALENDAR, "water_off_h"].max()
    assert (rows.loc[CALENDAR, "slips"] > 0.0).all()


def test_skip_tells_what_comes_of_leaving_it_out(told, capsys):
    said, out = told(capsys, "skip", *SHORT, "--task", TASK, "--from", "month", "2")
    assert f"skipping '{TASK}' from 1 February 2021 on" in said
    signs = pd.read_csv(out / "signs.csv")
    assert "drop" in set(signs.loc[signs["subject"] == STAGE, "what"])
    assert "water off" in set(signs["what"])
    handout = (out / "handout.html").read_text()
    assert TASK in handout and "screen" in handout.lower()


def test_visits_have_its_place_its_steps_its_caution_and_its_parts(told, capsys):
    _, out = told(capsys, "visits", "--from", "2027-01-01", "--policy", CALENDAR)
    table = pd.read_csv(out / "visits.csv", parse_dates=["date"])
    with_it = table[table["tasks"].str.contains(TASK)]
    # every two months from the first day of the year
    assert list(with_it["date"].dt.date) == [date(2027, m, 1) for m in (3, 5, 7, 9, 11)] + [date(2028, 1, 1)]
    last = with_it.iloc[-1]["tasks"].split("; ")
    gutters, sediment = last.index("clear gutters and diverter"), last.index("change cartridge: sediment")
    assert gutters < last.index(LABEL) < last.index(f"change cartridge: {STAGE}") < sediment
    assert "screen cartridge, 4.5x10 in, 50 um" in with_it.iloc[-1]["parts"]
    assert "screen" not in str(with_it.iloc[0]["parts"])  # a rinse takes no new one
    sheets = (out / "sheets.html").read_text()
    first = sheets[sheets.index("<h2>Sheet 1") : sheets.index("<h2>Sheet 2")]
    steps = [step.text for step in load(SITE).task(TASK).steps]
    places = [first.index(step) for step in steps]
    assert places == sorted(places)
    assert first.index("Never open a housing under pressure") < places[0]
    shows = "Weak taps and a high drop over the screen"
    assert f"{shows}: {LABEL}, by the owner" in sheets


def test_the_calendar_has_it(told, capsys):
    _, out = told(capsys, "visits", "--from", "2027-01-01", "--policy", CALENDAR)
    events = vobject.readOne((out / "visits.ics").read_text()).vevent_list
    mine = sorted(event.dtstart.value.date() for event in events if LABEL in event.summary.value)
    assert mine[:2] == [date(2027, 3, 1), date(2027, 5, 1)]
    assert all(f"- {LABEL}" in e.description.value for e in events if LABEL in e.summary.value)


def test_run_writes_them_in_its_diary(told, capsys):
    _, out = told(capsys, "run", "--years", "1")
    events = pd.read_csv(out / "events.csv")
    assert {"task", "order"} & set(events.loc[events["subject"] == LABEL, "kind"])
    assert {"slip", "slip mended"} <= set(events.loc[events["subject"] == SLIP, "kind"])
    assert "drop_pa_screen" in pd.read_csv(out / "days.csv").columns


def test_its_interval_can_be_tuned():
    scenario = load(SITE)
    found = {dial.name: dial for dial in dials(scenario, scenario.policies[0], 2)}
    assert found[LABEL].levels[found[LABEL].own] == pytest.approx(2 * 365.25 * 86400 / 12)


def test_tune_and_size_take_them(told, capsys):
    words = ("--policy", CALENDAR, *SHORT)
    said, _ = told(capsys, "tune", *words, "--only", LABEL, "--limit-days", "366")
    assert f"{LABEL} at" in said
    _, out = told(capsys, "size", *words, "--try", "stage.screen.housings=1,2")
    assert set(pd.read_csv(out / "designs.csv")["design"]) == {"screen housings 1", "screen housings 2"}
