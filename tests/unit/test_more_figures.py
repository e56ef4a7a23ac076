"""Figures of a skip, a drill, a day, sizes and of cost against days, from made-up numbers."""

import re
from datetime import date
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from sim.report.figures import day_moment, drill_figure, run_figure, size_figures, skip_figure, trade_off
from sim.study.search.limits import Limits
from sim.study.statistics.intervals import Interval
from sim.units import GALLON_M3, PSI_PA

DAY = 86400.0


def named(figure, name, row=None):
    return [one for one in figure.data if one.name == name and row in (None, _row(one))]


def _row(trace):
    return int((trace.yaxis or "y").removeprefix("y") or 1)


def written(figure):
    return [note.text for note in figure.layout.annotations]


# A skip: the run as kept and the run as skipped.
def _run(reading, drop_psi):
    dates = pd.date_range("2021-01-01", periods=len(reading))
    drops = {f"drop_pa_{name}": PSI_PA * np.array(values, float) for name, values in drop_psi.items()}
    return pd.DataFrame({"date": dates, "uv_reading": reading, **drops})


KEPT = _run([0.9, 0.8, 0.7], {"sediment": [1, 2, 3], "carbon": [4, 1, 1]})
LEFT = _run([0.9, 0.6, 0.5], {"sediment": [1, 5, 9], "carbon": [4, 7, np.nan]})
MONTHS = [
    SimpleNamespace(first=date(2021, 1, 1), below=(3, 1), alarm=(9, 2), reading=(0.5, 0.7),
                    drop_pa=(PSI_PA, 0.0), off_h=(1.5, 0.5)),
    SimpleNamespace(first=date(2021, 2, 1), below=(4, 0), alarm=(8, 0), reading=(0.4, 0.8),
                    drop_pa=(2.0 * PSI_PA, 3.0 * PSI_PA), off_h=(0.0, 0.0)),
]  # fmt: skip
STORY = SimpleNamespace(months=MONTHS)


def test_a_skip_draws_both_runs_in_the_units_asked_for_and_names_them_at_their_ends():
    figure = skip_figure.skip_figure(KEPT, LEFT, STORY, 0.6, "us")
    for name, reading, drop, below in (("kept", [90, 80, 70], [4, 2, 3], [1, 0]),
                                       ("skipped", [90, 60, 50], [4, 7, 9], [3, 4])):  # fmt: skip
        light, greatest, days = named(figure, name)
        assert list(light.y) == pytest.approx(reading) and list(greatest.y) == pytest.approx(drop)
        assert list(days.y) == below and list(days.x) == [date(2021, 1, 1), date(2021, 2, 1)]
    kpa = skip_figure.skip_figure(KEPT, LEFT, STORY, 0.6, "si")
    assert named(kpa, "kept", 2)[0].y[0] == pytest.approx(4.0 * PSI_PA / 1000.0)
    (alarm,) = figure.layout.shapes
    assert alarm.y0 == alarm.y1 == pytest.approx(60.0)
    ends = {
        (note.text, round(note.y)): note.yshift
        for note in figure.layout.annotations
        if note.text in ("kept", "skipped")
    }
    assert ends[("kept", 70)] > 0 > ends[("skipped", 50)]
    assert ends[("kept", 3)] < 0 < ends[("skipped", 9)]
    assert figure.layout.yaxis3.dtick == 1  # few days: whole ones
    many = SimpleNamespace(months=[SimpleNamespace(first=date(2021, 1, 1), below=(5, 0))])
    assert skip_figure.skip_figure(KEPT, LEFT, many, 0.6, "us").layout.yaxis3.dtick is None


def test_the_months_of_a_skip_stand_in_a_table_and_the_figure_in_words():
    table = skip_figure.months_table(STORY, "us")
    assert table["month"].tolist() == ["2021-01", "2021-02"]
    assert table["days below, skipped"].tolist() == [3, 4] and table["days below, kept"].tolist() == [1, 0]
    assert table["days of alarm, skipped"].tolist() == [9, 8]
    assert table["UV reading, kept, %"].tolist() == pytest.approx([70.0, 80.0])
    assert table["greatest drop, kept, psi"].tolist() == pytest.approx([0.0, 3.0])
    assert table["water off, skipped, h"].tolist() == [1.5, 0.0]
    said = skip_figure.skip_alt(KEPT, LEFT, STORY)
    assert "falls to 50 % (kept: 70 %) and 7 days are below" in said and "(kept: 1)" in said


# One time of a day.
TRACE = pd.DataFrame({
    "time_s": [0.0, 100.0, 200.0, DAY, DAY + 50.0], "tank_pressure_pa": [3e5, 4e5, 2e5, 2e5, 3e5],
    "flow_m3_s": [0.0, 1e-4, 2e-4, 0.0, 3e-4], "drop_pa_sediment": [0.0, 1e3, 2e3, 0.0, 3e3],
    "uv_reading": [0.9, 0.8, 0.7, 0.6, 0.5], "dose_j_m2": [np.nan, 500.0, 400.0, np.nan, 300.0],
    "alarm": [False, False, True, False, False], "lamp_warm": [True, False, True, True, True],
})  # fmt: skip
PUMP = pd.DataFrame({"start_s": [90.0, DAY + 10.0], "stop_s": [150.0, np.nan]})
DRAWS = pd.DataFrame({
    "start_s": [50.0, 60.0, 60.0, DAY - 20.0], "seconds": [100.0, 30.0, 200.0, 20.0],
    "use": ["tap", "bath", "tap", "toilet"],
})  # fmt: skip
EVENTS = pd.DataFrame({"time_s": [0.0, DAY - 1.0, DAY], "kind": ["task", "alarm", "task"]})
TABLES = {"trace": TRACE, "pump": PUMP, "draws": DRAWS, "events": EVENTS}


@pytest.mark.parametrize(
    ("at_s", "pressure_pa", "flow_m3_s", "pump_on", "uses"),
    [
        (50.0, 3.5e5, 1e-4, False, ("tap",)),  # a step's numbers stand for the time that ends with it
        (90.0, 3.9e5, 1e-4, True, ("tap",)),  # the bath has ended, the pump begins
        (149.0, 3.02e5, 2e-4, True, ("tap",)),
        (150.0, 3.0e5, 2e-4, False, ("tap",)),
        (DAY + 60.0, 3.0e5, 3e-4, True, ()),  # past the last step; a run that has not ended goes on
        (DAY - 10.0, 2.0e5, 0.0, False, ("toilet",)),
    ],
)
def test_a_time_of_a_day_is_read_off_between_its_steps(at_s, pressure_pa, flow_m3_s, pump_on, uses):
    found = day_moment.moment(TABLES, at_s)
    assert found.pressure_pa == pytest.approx(pressure_pa, rel=1e-6)
    assert (found.flow_m3_s, found.pump_on, found.uses, found.at_s) == (flow_m3_s, pump_on, uses, at_s)


def test_a_time_of_a_day_has_what_its_step_says():
    found = day_moment.moment(TABLES, 180.0)
    assert found.drops_pa == {"sediment": 2e3} and found.uv_reading == 0.7 and found.dose_j_m2 == 400.0
    assert found.alarm and found.lamp_warm
    assert not day_moment.moment(TABLES, 99.0).lamp_warm and not day_moment.moment(TABLES, 99.0).alarm


def test_what_belongs_to_a_day_begins_or_reaches_into_it():
    first, second = day_moment.of_day(TABLES, 0), day_moment.of_day(TABLES, 1)
    assert first["trace"]["time_s"].tolist() == [0.0, 100.0, 200.0, DAY]
    assert second["trace"]["time_s"].tolist() == [DAY, DAY + 50.0]
    assert first["pump"]["start_s"].tolist() == [90.0] and second["pump"]["start_s"].tolist() == [DAY + 10.0]
    assert first["draws"].shape[0] == 4 and second["draws"]["use"].tolist() == ["toilet"]
    assert first["events"]["time_s"].tolist() == [0.0, DAY - 1.0] and second["events"]["time_s"].tolist() == [
        DAY
    ]
    assert day_moment.of_day(TABLES, 2)["pump"]["start_s"].tolist() == [DAY + 10.0]  # it runs on


# A drill, revealed.
SEEN = pd.DataFrame({
    "day": [1, 2, 3], "reading": [0.9, 0.5, 0.8], "expert_reading": [0.9, 0.8, 0.85],
    "display_seen": [np.nan, 0.5, None], "below_target_m3": [0.5, 1.0, 0.25],
    "expert_below_target_m3": [0.5, 0.125, 0.0], "water_off_h": [0.0, 2.0, 1.0],
    "expert_water_off_h": [0.0, 0.25, 0.0],
})  # fmt: skip
ENDED = SimpleNamespace(case=SimpleNamespace(staged=[SimpleNamespace(day=2)]))


def test_a_drill_draws_both_runs_and_when_the_fault_began():
    figure = drill_figure.drill_figure(SEEN, ENDED, "us")
    assert list(named(figure, "you", 1)[0].y) == [90.0, 50.0, 80.0]
    assert list(named(figure, "expert", 1)[0].y) == [90.0, 80.0, 85.0]
    assert [y for y in named(figure, "seen")[0].y if y == y] == [50.0]
    assert list(named(figure, "you", 2)[0].y) == pytest.approx(
        [0.5 / GALLON_M3, 1.0 / GALLON_M3, 0.25 / GALLON_M3]
    )
    assert list(named(figure, "expert", 3)[0].y) == [0.0, 0.25, 0.0]
    assert figure.layout.yaxis2.range == pytest.approx((0.0, 1.1 / GALLON_M3))
    assert figure.layout.yaxis3.range == pytest.approx((0.0, 2.2))
    assert [(line.x0, line.x1) for line in figure.layout.shapes] == [(2, 2)] * 3
    litres = drill_figure.drill_figure(SEEN, ENDED, "si")
    assert list(named(litres, "you", 2)[0].y) == pytest.approx([500.0, 1000.0, 250.0])
    still = SEEN.assign(water_off_h=0.0, expert_water_off_h=0.0)
    assert drill_figure.drill_figure(still, ENDED, "us").layout.yaxis3.range == (0.0, 1.0)


def test_a_drill_in_words_counts_from_the_day_the_fault_began():
    said = drill_figure.drill_alt(SEEN, ENDED, "si")
    assert "began on day 2" in said and "1,250 L came below" in said and "in the expert's run 125 L" in said
    assert "off for 3 h, in the expert's run for 0.25 h" in said.replace("3.0", "3")


# Cost against days.
def _interval(estimate, low, high):
    return Interval(estimate, low, high, 0.95, "made up", 10)


def _summary(policy, cost, days):
    return SimpleNamespace(policy=policy, cost=_interval(*cost), days_below_target=_interval(*days))


COMPARED = SimpleNamespace(
    summaries=[_summary("a & b", (500.0, 400.0, 600.0), (2.0, 1.0, 3.0)),
               _summary("none", (1000.0, -50.0, 2000.0), (300.0, 200.0, 340.0))],
    limit_days_below_target=5.0,
)  # fmt: skip


def test_the_small_drawing_puts_each_mark_at_its_cost_and_days():
    """The dearest stands at 1/1.1 of the width, the limit of 5 at 1/1.15 of the height; 300 are cut off."""
    svg = trade_off.trade_off_svg(COMPARED, "USD")
    marks = [(float(x), float(y)) for x, y in re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)"', svg)]
    width, height = 640.0 - 50.0 - 16.0, 250.0 - 46.0 - 30.0
    floor = 250.0 - 46.0
    assert marks[0] == pytest.approx((50.0 + width * 500.0 / 1100.0, floor - height * 2.0 / 5.75), abs=0.06)
    assert marks[1] == pytest.approx((50.0 + width * 1000.0 / 1100.0, 30.0), abs=0.06)
    lines = [
        tuple(map(float, one))
        for one in re.findall(r'x1="([\d.]+)" y1="([\d.]+)" x2="([\d.]+)" y2="([\d.]+)"', svg)
    ]
    limit = floor - height * 5.0 / 5.75
    assert lines[2] == pytest.approx((50.0, limit, 624.0, limit), abs=0.06)
    assert [(one[0], one[2]) for one in lines[3:]] == [
        pytest.approx((50.0 + width * 400.0 / 1100.0, 50.0 + width * 600.0 / 1100.0), abs=0.06),
        pytest.approx((50.0, 624.0), abs=0.06),  # bounds end at the axis and at the edge
    ]
    words = re.findall(r"<text [^>]*>([^<]*)</text>", svg)
    assert words[:7] == ["limit 5", "0", "0", "550", "2.9", "1,100", "5.8"]
    assert words[-2:] == ["A", "B"] and "cost, USD a year" in words
    assert "A a &amp; b: 500 USD, 2.0 bad days; B none: 1,000 USD, 300 bad days" in svg


# Sizes.
LINES = pd.DataFrame({
    "design": ["small", "large", "as it is"], "policy": ["by rule", "by rule", "by rule"],
    "cost": [400.0, 700.0, 900.0], "cost_equipment": [50.0, 200.0, 100.0],
    "days_below_target": [8.0, 1.0, 2.0], "water_off_h": [9.0, 5.0, 6.0],
    "cistern_empty_days": [1.0, 0.0, 0.0], "short_runs": [100.0, 20.0, 30.0],
    "pump_starts": [400.0, 200.0, 300.0], "cartridge_days": [90.0, 180.0, 160.0],
    "runs": [10, 20, 20], "fate": ["over a limit", "chosen", "dearer"],
})  # fmt: skip


def test_designs_stand_at_their_cost_and_days_by_what_became_of_them():
    fates = {size_figures.OVER: [400.0], size_figures.CHOSEN: [700.0], size_figures.DEARER: [900.0]}
    lines = LINES.assign(fate=list(fates))
    study = SimpleNamespace(lines=lines, front=(0, 1), found=SimpleNamespace(limits=Limits(5.0)))
    figure = size_figures.sizes_front(study, "USD")
    for fate, cost in fates.items():
        (marks,) = named(figure, fate)
        assert list(marks.x) == cost
    assert named(figure, size_figures.TIE) == []
    (front,) = named(figure, "front")
    assert list(zip(front.x, front.y, strict=True)) == [(400.0, 8.0), (700.0, 1.0)]
    assert figure.layout.shapes[0].y0 == 5.0 and "limit 5" in written(figure)
    assert list(named(figure, size_figures.CHOSEN)[0].customdata) == [1]  # which line a click asks for
    assert named(figure, size_figures.CHOSEN)[0].text[0] == "large (by rule)<br>700 USD, 1.0 days a year"
    said = size_figures.sizes_front_alt(study, "USD")
    assert "no other of the 3 is better" in said
    assert "small (by rule): 400 USD, 8.0 days; large (by rule): 700 USD, 1.0 days. The dotted" in said
    told = size_figures.design_words(study, 1, "USD")
    assert told.startswith(
        "large, looked after by rule: the choice. It costs 700 USD a year, 200 of it equipment, "
    )
    assert "with 1.0 days below the dose target, 5.0 water-off hours and 0 dry days a year" in told
    assert "lasts least lasts 180 days; 20 of 200 pump runs are under a minute. Means of 20 runs." in told
    assert f": {size_figures.OVER}. It costs 400" in size_figures.design_words(study, 0, "USD")


# Gauges of one run.
def _days(count=30):
    return pd.DataFrame({
        "date": pd.date_range("2021-01-01", periods=count), "uv_reading": np.linspace(1.0, 0.5, count),
        "tank_pressure_min_pa": 40 * PSI_PA, "tank_pressure_max_pa": 60 * PSI_PA,
        "drop_pa_sediment": np.linspace(1, 10, count) * PSI_PA,
        "drop_pa_carbon": np.linspace(1, 9.9, count) * PSI_PA,
        "alarm": [False] * (count - 2) + [True] * 2,
    })  # fmt: skip


def test_gauges_alone_are_drawn_and_named_at_their_ends_apart():
    days = _days()
    figure = run_figure.gauges_figure(days, ["sediment", "carbon"], "us", 0.6)
    assert {one.name for one in figure.data} == {
        "most",
        "least",
        "sediment",
        "carbon",
        "reading",
        "alarm below 60 %",
    }
    assert list(named(figure, "alarm below 60 %")[0].y) == [60.0, 60.0]
    assert list(named(figure, "reading")[0].y[[0, -1]]) == pytest.approx([100.0, 50.0])
    assert named(figure, "carbon")[0].y[-1] == pytest.approx(9.9)
    at = {note.text: (note.y, note.yshift) for note in figure.layout.annotations if note.xshift == 5}
    px_each = 140.0 / 10.0  # of a panel, over the greatest value in it
    assert at["carbon"] == pytest.approx((9.9, 0.0))
    assert at["sediment"][1] == pytest.approx(
        17.0 - (10.0 - 9.9) * px_each
    )  # a name's height above the other
    assert at["least"][1] == pytest.approx(0.0) and at["most"][1] == pytest.approx(0.0)
    said = run_figure.gauges_alt(days)
    assert (
        "The gauges of 30 days: the UV reading lies between 50 % and 100 %" in said and "on 2 days." in said
    )


def test_titles_of_panels_break_where_a_phone_would_cut_them():
    figure = skip_figure.skip_figure(KEPT, LEFT, STORY, 0.6, "us")
    titles = [note for note in figure.layout.annotations if note.xref == "paper"]
    assert [note.text for note in titles] == [
        "UV reading, % of new and clean<br>(dotted: the alarm, 60 %)",
        "Greatest drop over a stage, psi",
        "Days below the dose target each month",
    ]
    assert {(note.x, note.xanchor, note.align) for note in titles} == {(0.0, "left", "left")}
