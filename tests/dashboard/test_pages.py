"""Every page, run as the server runs it: numbers read off it, states taken from its address."""

import datetime
import time

import numpy as np
import pytest

from dashboard import frame
from sim.outcome.closeup import closeup
from sim.outcome.frames import days_frame
from sim.report.figures.comparison_figures import cost_means
from sim.scenario.read import load
from sim.study.runs.replicate import study
from sim.study.runs.request import Design, Inputs
from sim.twin import run as twin
from sim.twin.window import window
from sim.units import GPM_M3_S, PSI_PA
from tests.dashboard.driving import opened, settled, table_with
from tests.plain_words import half_digit

COMPARE = "views/compare.py"


@pytest.fixture(scope="module")
def compared():
    return settled(opened(COMPARE, years="1", runs="2", seed="7").button(key="go").click().run())


def test_the_comparison_shows_the_costs_of_the_study(compared):
    scenario = load.load(load.DEMO)
    rows = study(Design("demo", scenario, scenario.policies), Inputs(7, 1), 2).rows
    expected = cost_means(rows)["all"]
    shown = table_with(compared, "bought water").set_index("policy")["all"]
    assert list(shown.index) == [policy.name for policy in scenario.policies]
    assert shown.to_dict() == pytest.approx(expected.to_dict(), abs=0.5)  # shown in whole money


def test_the_answer_comes_before_the_figures_and_with_its_caution(compared):
    headings = [item.value for item in compared.header]
    assert headings[0] == "The answer"
    assert any("local codes and licensed practice" in item.value.lower() for item in compared.info)
    assert any("bad days a year" in item.value for item in compared.markdown)


def test_the_same_question_again_is_answered_from_the_store(compared):
    began = time.monotonic()
    again = opened(COMPARE, years="1", runs="2", seed="7")
    assert time.monotonic() - began < 5.0
    assert again.header[0].value == "The answer"
    assert opened(COMPARE, years="1", runs="2", seed="8").header.len == 0


def test_another_policy_list_is_another_question(compared):
    del compared
    at = opened(COMPARE, years="1", runs="2", seed="7")
    at.multiselect(key="policies").unselect("nothing done").run()
    assert at.header.len == 0


def test_a_question_nobody_waits_for_any_more_gives_way_to_the_next():
    at = opened(COMPARE, years="1", runs="60", seed="91")
    at.button(key="go").click().run()
    first = frame.jobs().get(at.session_state["last-go"])
    at.number_input(key="seed").set_value(92).run()
    assert not first.stop.is_set()  # looking elsewhere stops nothing
    at.button(key="go").click().run()
    second = frame.jobs().get(at.session_state["last-go"])
    assert first.stop.is_set() and not second.stop.is_set()
    frame.jobs().cancel(at.session_state["last-go"])
    settled(at)


def gauge_of(at):
    html = next(item.proto.body for item in at.get("html") if "train" in item.proto.body)
    words = html.split("<dt>of the day</dt><dd>")[1].split("</dd>")[0]
    low, unit = words.split(" to ")[0].split()
    return float(low), unit


def test_a_history_shows_the_same_pressure_in_both_units():
    us = settled(opened("views/history.py", years="1"))
    psi, unit = gauge_of(us)
    assert unit == "psi"
    assert psi == pytest.approx(40.0, abs=3.0)  # cut-in of the demo, 40 psi
    us.button_group(key="units").set_value("SI").run()
    kpa, unit = gauge_of(us)
    assert unit == "kPa"
    assert kpa == pytest.approx(psi * PSI_PA / 1e3, abs=0.5 + 0.05 * PSI_PA / 1e3)  # last digits shown


def box(at, label):
    html = next(item.proto.body for item in at.get("html") if "train" in item.proto.body)
    return html.split(f"<dt>{label}</dt><dd>")[1].split("</dd>")[0]


def test_the_time_of_day_moves_the_train_along_the_steps_of_the_run():
    at = settled(opened("views/history.py", years="1"))
    scenario = load.load(load.DEMO)
    common = twin.common_inputs(scenario, 0, 1, 1)
    tables = closeup(window(scenario, scenario.policies[0], common, 0, 1))
    draw = tables["draws"].iloc[int(tables["draws"]["flow_m3_s"].argmax())]
    seconds = int(-(-draw["start_s"] // 10) * 10)
    time_of_day = datetime.time(seconds // 3600, seconds // 60 % 60, seconds % 60)
    at.slider(key="time").set_value(time_of_day).run()
    assert not at.exception
    trace = tables["trace"]
    step = trace[trace["time_s"] >= seconds].iloc[0]
    assert box(at, "flow") == f"{step['flow_m3_s'] / GPM_M3_S:.2f} gpm"
    assert box(at, "draws") == draw["use"]
    pressure = np.interp(seconds, trace["time_s"], trace["tank_pressure_pa"])
    assert box(at, "gauge") == f"{pressure / PSI_PA:.1f} psi"
    assert box(at, "drop at this flow") == f"{step['drop_pa_sediment'] / PSI_PA:.1f} psi"
    assert box(at, "dose at this flow") == f"{step['dose_j_m2'] / 10:.1f} mJ/cm2"


def test_months_say_the_least_of_the_days():
    at = settled(opened("views/history.py", years="1"))
    scenario = load.load(load.DEMO)
    days = days_frame(twin.run(scenario, scenario.policies[0], twin.common_inputs(scenario, 0, 1, 1)))
    shown = table_with(at, "month").set_index("month")["least UV reading, %"]
    least = 100 * days[days["date"].dt.month == 3]["uv_reading"].min()
    assert shown["2021-03"] == pytest.approx(least, abs=half_digit(least))


def test_hours_of_both_kinds_stand_under_their_figures(compared):
    scenario = load.load(load.DEMO)
    rows = study(Design("demo", scenario, scenario.policies), Inputs(7, 1), 2).rows
    means = rows.groupby("policy")[["water_off_h", "alarm_h"]].mean()
    tables = [
        item.value for item in compared.dataframe if {"policy", "low", "high"} <= set(item.value.columns)
    ]
    assert len(tables) == 3  # days first
    for table, column in zip(tables[1:], means.columns, strict=True):
        found = table.set_index("policy")["mean"]
        for name, mean in means[column].items():
            assert found[name] == pytest.approx(mean, rel=0, abs=half_digit(mean))


def test_a_history_goes_to_the_next_event():
    at = settled(opened("views/history.py", years="1"))
    assert at.slider(key="day").value == 0
    at = settled(at.button(key="next").click().run())
    assert at.slider(key="day").value > 0
    assert len(table_with(at, "kind")) >= 1


def test_what_it_rests_on_shows_the_values_of_the_site():
    at = opened("views/assumptions.py")
    assert not at.exception
    shown = table_with(at, "key").set_index("key")["value"]
    assert shown["pressure_switch.cut_in"] == "40.0 psi"
    assert shown["cistern.capacity"] == "10,000 gal"
    assert any("not been validated" in item.value for item in at.markdown)


def test_a_broken_site_gives_its_one_line_as_text():
    at = opened(COMPARE)
    broken = b'extends = "family_house"\n[pressure_switch]\ncut_in = "40 gpm"\n'
    at.file_uploader(key="toml").upload("<script>x.toml", broken, "text/plain").run()
    assert not at.exception
    assert at.text[0].value.startswith("<script>x.toml: pressure_switch.cut_in: read '40 gpm', which")
    assert "\n" not in at.text[0].value
