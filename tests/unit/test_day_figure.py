"""The figure of one day: gauges, flow and dose in the units asked for, what ran and what happened."""

import numpy as np
import pandas as pd
import pytest

from sim.report.figures.day_figure import close_alt, close_figure
from sim.report.figures.day_moment import DAY_S, moment
from sim.units import GPM_M3_S, PSI_PA

START = pd.Timestamp("2021-03-02")
FIRST_S = 10 * DAY_S  # the eleventh day of the run


def at(hours):
    return FIRST_S + 3600.0 * np.array(hours, float)


def clock(hours):
    return [START + pd.Timedelta(hours=h) for h in hours]


HOURS = [0.0, 6.0, 7.0, 20.0]
TABLES = {
    "trace": pd.DataFrame({
        "time_s": at(HOURS), "time": clock(HOURS),
        "tank_pressure_pa": PSI_PA * np.array([60.0, 50.0, 40.0, 55.0]),
        "flow_m3_s": GPM_M3_S * np.array([0.0, 2.0, 4.0, 0.0]), "dose_j_m2": [np.nan, 900.0, 0.0, np.nan],
        "uv_reading": 0.9, "alarm": False, "lamp_warm": True,
    }),
    "pump": pd.DataFrame({"start_s": at([6.0, 23.0]), "stop_s": [*at([6.1]), np.nan]}),
    "draws": pd.DataFrame({"start_s": at([6.0, 6.5]), "seconds": [600.0, 1200.0], "use": ["shower", "tap"]}),
    "events": pd.DataFrame({
        "time": clock([8.0, 9.0]), "time_s": at([8.0, 9.0]), "kind": ["task", "delivery"],
        "subject": ["wipe sleeve", "<b>lamp</b>"], "note": ["done", None],
    }),
}  # fmt: skip
NOW = moment(TABLES, FIRST_S + 6.5 * 3600.0)


@pytest.fixture(scope="module", params=["us", "si"])
def figure(request):
    return request.param, close_figure(TABLES, START, request.param, 400.0, NOW)


def trace(figure, name):
    (found,) = [one for one in figure.data if one.name == name]
    return found


def test_pressure_flow_and_dose_are_in_the_units_asked_for(figure):
    units, drawn = figure
    psi, gpm = (1.0, 1.0) if units == "us" else (PSI_PA / 1000.0, GPM_M3_S * 60000.0)
    assert list(trace(drawn, "gauge pressure").y) == pytest.approx([60 * psi, 50 * psi, 40 * psi, 55 * psi])
    assert list(trace(drawn, "flow").y) == pytest.approx([0.0, 2 * gpm, 4 * gpm, 0.0], rel=1e-6)
    dose = trace(drawn, "dose")
    assert list(dose.y) == pytest.approx([90.0])  # 10 J/m2 are 1 mJ/cm2
    assert [pd.Timestamp(x) for x in dose.x] == clock([6.0])


def test_a_dose_of_nil_stands_below_the_target_where_no_logarithm_goes():
    drawn = close_figure(TABLES, START, "us", 400.0, NOW)
    nil = trace(drawn, "dose of nil")
    assert list(nil.y) == pytest.approx([20.0])  # half the target of 40 mJ/cm2
    assert drawn.layout.yaxis3.type == "log"
    notes = {note.text: note for note in drawn.layout.annotations}
    assert notes["target 40"].y == pytest.approx(np.log10(40.0)) and notes["target 40"].yref == "y3"
    assert notes["x dose of nil"].y == pytest.approx(np.log10(20.0))
    levels = [one for one in drawn.layout.shapes if one.yref == "y3"]
    assert [(one.y0, one.y1) for one in levels] == [(pytest.approx(40.0), pytest.approx(40.0))]


def test_each_pump_run_and_draw_is_a_bar_from_its_start_to_its_stop(figure):
    _, drawn = figure
    pump, shower = trace(drawn, "pump"), trace(drawn, "shower")
    begin, end, gap, late, midnight, _ = [pd.Timestamp(x) for x in pump.x]
    assert [begin, end] == clock([6.0, 6.1]) and pd.isna(gap)
    assert [late, midnight] == clock([23.0, 24.0])  # one that has not ended goes on to midnight
    assert [pd.Timestamp(x) for x in shower.x[:2]] == clock([6.0, 6.0 + 1 / 6])
    assert set(pump.y) == {"pump"} and set(shower.y) == {"shower"}
    lanes = drawn.layout.yaxis4
    assert list(lanes.categoryarray) == ["events", "tap", "shower", "pump"]
    assert list(lanes.tickvals) == ["pump", "shower", "tap", "events"] and lanes.range == (-0.6, 3.6)


def test_events_are_marked_by_kind_and_their_words_are_text(figure):
    _, drawn = figure
    task, other = trace(drawn, "task"), trace(drawn, "delivery")
    assert list(task.text) == ["task: wipe sleeve done"]
    assert list(other.text) == ["delivery: &lt;b&gt;lamp&lt;/b&gt; "]
    assert task.marker.symbol != other.marker.symbol


def test_the_time_looked_at_is_a_line_through_all_panels(figure):
    _, drawn = figure
    lines = [one for one in drawn.layout.shapes if one.x0 == one.x1]
    assert len(lines) == 4 and {pd.Timestamp(one.x0) for one in lines} == set(clock([6.5]))
    assert [pd.Timestamp(x) for x in drawn.layout.xaxis.range] == clock([0.0, 24.0])


def test_a_day_in_words_has_its_ends_and_counts():
    said = close_alt(TABLES, "2 March 2021", "us", 400.0)
    assert said == (
        "2 March 2021: gauge pressure between 40.0 psi and 60.0 psi, largest flow 4.00 gpm, "
        "2 pump runs, 2 draws. The least dose at a draw is 0.0 mJ/cm2, under the target."
    )
    enough = {**TABLES, "trace": TABLES["trace"].assign(dose_j_m2=[np.nan, 900.0, 400.0, np.nan])}
    assert close_alt(enough, "then", "us", 400.0).endswith("is 40.0 mJ/cm2, not under the target.")
    dry = {**TABLES, "trace": TABLES["trace"].assign(dose_j_m2=np.nan)}
    assert "dose" not in close_alt(dry, "then", "us", 400.0)
