"""Figures of an answer, and the train as boxes, from made-up policies and days."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from sim.report.figures import answer_figure, front_figure, interval_figure, skip_boxes, train_boxes
from sim.report.figures.comparison_figures import readable
from sim.report.figures.day_moment import Moment
from sim.study.statistics.intervals import Interval
from sim.units import GPM_M3_S, PSI_PA
from tests import changed_site


def _interval(estimate, low=None, high=None):
    known = low is not None
    return Interval(estimate, low if known else np.nan, high if known else np.nan, 0.95, "made up", 10)


def _policy(name, cost, days, causes, state="within", alarm=20.0):
    return SimpleNamespace(
        policy=name, cost=_interval(*cost), days_below_target=_interval(*days), causes=causes,
        alarm_h=_interval(alarm), water_off_h=_interval(7.0), standing=state, runs=10, runs_with_days=4,
        people_days=_interval(0.5, 0.25, 0.75) if state == "within" else None,
        by_days=SimpleNamespace(state=state), by_off=SimpleNamespace(state="within"),
    )  # fmt: skip


COMPARED = SimpleNamespace(
    limit_days_below_target=5.0,
    summaries=[
        _policy("by rule", (900.0, 800.0, 1000.0), (2.0, 1.0, 3.0), {"lamp": 1.2, "cut": 0.78, "odd": 0.02}),
        _policy("by hand", (600.0, 500.0, 700.0), (4.0, 2.0, 6.0), {"cut": 3.9, "odd": 0.1}, "unsure"),
        _policy("none", (100.0, 90.0, 110.0), (300.0, 250.0, 340.0), {"lamp": 300.0}, "over", 9000.0),
    ],
)


def traces(figure, name):
    return [one for one in figure.data if one.name == name]


def test_bad_days_are_told_by_cause_and_those_rare_everywhere_together():
    found = answer_figure.days_by_cause(COMPARED)
    assert list(found.columns) == ["lamp", "cut", "rarer causes"]  # the first policy's greatest first
    assert found.loc["by rule"].tolist() == pytest.approx([1.2, 0.78, 0.02])
    assert found.loc["by hand"].tolist() == pytest.approx([0.0, 3.9, 0.1])
    assert found.loc["none"].tolist() == pytest.approx([300.0, 0.0, 0.0])


def test_the_answer_in_one_figure_stacks_what_the_table_says_and_cuts_what_lies_far_off():
    figure = answer_figure.answer_figure(COMPARED, "USD")
    (cost,), (lamp,), (cut,) = (traces(figure, name) for name in ("cost", "lamp", "cut"))
    assert list(cost.x) == [900.0, 600.0, 100.0] and list(cost.y) == ["by rule", "by hand", "none"]
    assert list(lamp.x) == pytest.approx([1.2, 0.0, 300.0]) and list(cut.x) == pytest.approx([0.78, 3.9, 0.0])
    assert figure.layout.barmode == "stack"
    assert [one.showlegend for one in figure.data] == [False, True, True, True, False]
    looks = [(one.marker.color, one.marker.pattern.shape) for one in figure.data[1:4]]
    assert len(set(looks)) == 3
    assert figure.layout.xaxis.range is None  # money is seen on one axis
    assert figure.layout.xaxis2.range == pytest.approx((0.0, 1.2 * 4.0))
    assert figure.layout.xaxis3.range == pytest.approx((0.0, 1.2 * 20.0))
    notes = {
        (note.xref, note.y): (note.x, note.text)
        for note in figure.layout.annotations
        if note.xanchor == "left"
    }
    assert notes[("x", "by rule")] == (900.0, "900")
    assert notes[("x2", "by hand")] == (pytest.approx(4.0), "4.0")
    assert notes[("x2", "none")] == (pytest.approx(4.8), "300 →")
    assert notes[("x3", "none")] == (pytest.approx(24.0), "9,000 →")
    titles = [note.text for note in figure.layout.annotations[:3]]
    assert titles[0] == "cost, USD a year" and all("goes on beyond the edge" in one for one in titles[1:])
    table = answer_figure.answer_table(COMPARED, "USD")
    assert table["cost, USD"].tolist() == [900.0, 600.0, 100.0]
    assert table["hours of alarm"].tolist() == [20.0, 20.0, 9000.0] and table["cut"].tolist() == [
        0.78,
        3.9,
        0.0,
    ]
    said = answer_figure.answer_alt(COMPARED, "USD")
    assert said.startswith("A year. 'by rule': 900 USD, 2.0 bad days, 20 hours of alarm; 'by hand': 600")


def test_bounds_end_at_the_edge_and_an_arrow_says_that_they_go_on():
    """The highs are 3, 6 and 340: the axis ends at 1.2 times 6."""
    figure = interval_figure.span_figure(COMPARED, interval_figure.DAYS, 5.0)
    (within,), (outside,) = traces(figure, "within the limit"), traces(figure, "not shown to be within it")
    assert (list(within.x), list(within.y)) == ([2.0], ["by rule"])
    assert list(within.error_x.array) == [1.0] and list(within.error_x.arrayminus) == [1.0]
    assert list(outside.y) == ["by hand"] and list(outside.error_x.array) == [2.0]
    (arrow,) = traces(figure, "goes on beyond the edge")
    assert list(arrow.x) == pytest.approx([7.2]) and list(arrow.y) == ["none"]
    assert figure.layout.xaxis.range == pytest.approx((0.0, 1.04 * 7.2))
    (limit,) = traces(figure, "limit 5")
    assert list(limit.x) == [5.0] * 3
    assert (
        traces(interval_figure.span_figure(COMPARED, interval_figure.DAYS, 29.0), "limit 29") == []
    )  # out of sight
    alone = interval_figure.span_figure(COMPARED, interval_figure.OFF)
    assert list(traces(alone, "mean and interval")[0].x) == [7.0] * 3 and alone.layout.showlegend is False


@pytest.mark.parametrize(
    ("limit", "worst", "edge"),
    [(5.0, 340.0, 7.2), (10.0, 340.0, 12.0), (28.0, 340.0, 33.6), (29.0, 340.0, 7.2), (25.0, 28.0, None)],
)
def test_what_goes_on_beyond_the_edge_goes_on_beyond_a_limit_that_is_shown(limit, worst, edge):
    """The highs of the others are 3 and 6; an arrow left of the limit would look like a value within it."""
    policies = [
        *COMPARED.summaries[:2],
        _policy("none", (1.0,), (worst - 1.0, worst - 2.0, worst), {}, "over"),
    ]
    compared = SimpleNamespace(summaries=policies)
    figure = interval_figure.span_figure(compared, interval_figure.DAYS, limit)
    arrows = traces(figure, "goes on beyond the edge")
    ticks = traces(figure, f"limit {limit:g}")
    assert bool(ticks) is (limit < 4 * 7.2)
    if edge is None:
        assert arrows == [] and figure.layout.xaxis.range is None
        return
    assert list(arrows[0].x) == pytest.approx([edge]) and list(arrows[0].y) == ["none"]
    assert figure.layout.xaxis.range == pytest.approx((0.0, 1.04 * edge))
    assert not ticks or ticks[0].x[0] < edge


def test_an_axis_of_nothing_but_noughts_has_a_length():
    compared = SimpleNamespace(summaries=[_policy("a", (1.0,), (0.0, 0.0, 0.0), {})])
    assert interval_figure.span_figure(compared, interval_figure.DAYS).layout.xaxis.range == (0, 1)
    seen = interval_figure.span_figure(compared, interval_figure.DAYS, 5.0)
    assert traces(seen, "limit 5") == []


def test_the_numbers_of_bounds_stand_in_a_table():
    table = interval_figure.span_table(COMPARED, interval_figure.DAYS, 5.0)
    assert table["low"].tolist() == [1.0, 2.0, 250.0] and table["high"].tolist() == [3.0, 6.0, 340.0]
    assert table["within the limit"].tolist() == ["yes", "not shown", "not shown"]
    assert table["runs with any"].tolist() == [4] * 3 and table["standing"].tolist() == [
        "within",
        "unsure",
        "over",
    ]
    assert table["of them by people"].tolist() == ["0.50 (0.25 to 0.75)", "", ""]
    off = interval_figure.span_table(COMPARED, interval_figure.OFF)
    assert off["low"].isna().all() and "standing" not in off and "within the limit" not in off
    said = interval_figure.span_alt(COMPARED, interval_figure.DAYS, 5.0)
    assert "fewest first: 'by rule' 2.0 (1.0 to 3.0), within the limit of 5; 'by hand' " in said
    assert "'none' 300 (250 to 340), not shown to be within the limit of 5." in said


def test_cost_against_days_keeps_bars_inside_and_names_what_no_other_beats():
    figure = front_figure.front(COMPARED, "USD")
    marks = {one.text[0][0]: one for one in figure.data if one.text}
    top = 1.2 * 4.0  # where the axis ends: days are 2, 4 and 300, and the high of 6 is within twice that
    top = max(top, 5.0, 6.0)
    assert figure.layout.yaxis.range == pytest.approx((0.0, 1.08 * top))
    assert (
        marks["A"].y == (2.0,) and marks["A"].error_y.array == (1.0,) and marks["A"].error_x.array == (100.0,)
    )
    assert marks["B"].error_y.array == (2.0,) and marks["B"].error_y.arrayminus == (2.0,)
    assert marks["C"].y == (pytest.approx(top),) and marks["C"].text[0] == "C ↑ 300 days"
    (line,) = traces(figure, "no other is better in both")
    assert list(line.x) == [100.0, 600.0, 900.0] and list(line.y) == pytest.approx([top, 4.0, 2.0])
    assert front_figure.unbeaten(COMPARED) == ["by rule", "by hand", "none"]
    dearer = _policy("worse", (950.0, 940.0, 960.0), (2.0, 1.0, 3.0), {})
    more = SimpleNamespace(**{**vars(COMPARED), "summaries": [*COMPARED.summaries, dearer]})
    assert front_figure.unbeaten(more) == ["by rule", "by hand", "none"]
    table = front_figure.front_table(more, "USD")
    assert table["another is better in both"].tolist() == ["no", "no", "no", "yes"]
    assert table["mark"].tolist() == ["A", "B", "C", "D"] and table["cost low"].tolist() == [
        800.0,
        500.0,
        90.0,
        940.0,
    ]


def test_a_table_has_the_digits_of_words_and_of_its_units():
    made = pd.DataFrame(
        {
            "cost, USD": [1234.5678],
            "gauge, psi": [41.0456],
            "drop, psi": [0.0456],
            "share": [0.0456],
            "runs": [12345],
            "nothing": [np.nan],
        }
    )
    found = readable(made)
    assert found["cost, USD"][0] == 1230.0 and found["gauge, psi"][0] == 41.0 and found["runs"][0] == 12345
    assert found["drop, psi"][0] == 0.0 and found["share"][0] == 0.05  # by its unit, else as in words
    assert np.isnan(found["nothing"][0]) and made["cost, USD"][0] == 1234.5678


# The train as boxes.
SITE = changed_site.site()
DAY = pd.Series({
    "rain_m": 0.0254, "cistern_m3": 3.785411784, "pump_starts": 7.0, "pump_run_s": 660.0,
    "tank_pressure_min_pa": 40 * PSI_PA, "tank_pressure_max_pa": 60 * PSI_PA, "drop_pa_sediment": 2 * PSI_PA,
    "drop_pa_carbon": 3 * PSI_PA, "water_off_s": 0.0, "tap_pressure_min_pa": 30 * PSI_PA,
    "dose_least_j_m2": 500.0, "uv_reading": 0.8, "alarm": False,
})  # fmt: skip
DROPS = {"sediment": PSI_PA, "carbon": np.nan}
NOW = Moment(0.0, 50 * PSI_PA, 5 * GPM_M3_S, DROPS, 0.8, 450.0, False, True, True, ("tap", "bath"))


def _box(found, name):
    (box,) = [one for one in found if one[0] == name]
    return dict(box[1]), box[2]


def test_each_box_says_what_its_part_showed():
    found = train_boxes.boxes(SITE, DAY, NOW, "us")
    assert [name for name, _, _ in found] == [
        "Roof", "Cistern", "Pump", "Pressure tank", "sediment", "carbon", "UV", "House",
    ]  # fmt: skip
    assert _box(found, "Roof") == ({"rain of the day": "1.00 in"}, False)
    assert _box(found, "Cistern")[0] == {"holds at midnight": "1,000 gal"}
    assert _box(found, "Pump")[0] == {"now": "running", "starts of the day": "7", "ran": "11 min"}
    assert _box(found, "Pressure tank")[0] == {"gauge": "50.0 psi", "of the day": "40.0 psi to 60.0 psi"}
    assert _box(found, "sediment")[0] == {"drop at this flow": "1.0 psi", "at reading flow": "2.0 psi"}
    assert _box(found, "carbon")[0]["drop at this flow"] == "no water drawn"
    light, look = _box(found, "UV")
    assert light["dose at this flow"] == "45.0 mJ/cm2" and light["least dose of the day"] == "50.0 mJ/cm2"
    assert light["lamp"] == "lit and warm" and light["alarm"] == "quiet" and "look" not in light and not look
    assert _box(found, "House") == (
        {"flow": "5.00 gpm", "draws": "tap and bath", "least at the highest tap": "30.0 psi",
         "water off": "0 h of the day"}, False,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("day", "now", "marked"),
    [
        ({"dose_least_j_m2": 399.0}, {}, {"UV"}),
        ({"dose_least_j_m2": 400.0}, {}, set()),
        ({}, {"dose_j_m2": 399.0}, {"UV"}),
        ({}, {"dose_j_m2": np.nan}, set()),
        ({}, {"alarm": True}, {"UV"}),
        ({}, {"lamp_warm": False}, {"UV"}),
        ({"water_off_s": 60.0}, {}, {"House"}),
    ],
)
def test_a_box_is_marked_where_there_is_something_to_look_at(day, now, marked):
    found = train_boxes.boxes(SITE, pd.Series({**DAY, **day}), Moment(**{**vars(NOW), **now}), "us")
    assert {name for name, _, look in found if look} == marked
    page = train_boxes.train_html(found)
    assert page.count('<li class="look">') == len(marked) and page.count("<li") == 8


@pytest.mark.parametrize("revealed", [True, False])
def test_a_day_of_a_skip_stands_beside_the_run_as_kept_only_where_it_is_told(revealed):
    skipped = pd.Series({**DAY, "uv_reading": 0.5, "dose_least_j_m2": 300.0, "pump_starts": 9.0})
    found = skip_boxes.skip_boxes(SITE, skipped, DAY, "us", revealed)
    kept = " (kept: {})".format if revealed else lambda _other: ""
    light, look = _box(found, "UV")
    assert light["reading"] == f"50 %{kept('80 %')}" and look is revealed  # no display tells the dose
    assert light.get("least dose of the day") == ("30.0 mJ/cm2 (kept: 50.0 mJ/cm2)" if revealed else None)
    assert _box(found, "Pump")[0]["starts of the day"] == f"9{kept('7')}"
    assert _box(found, "House")[0] == {
        "least at the highest tap": "30.0 psi",
        "water off": "0 h",
    }  # alike: said once


def test_a_cartridge_is_marked_from_the_drop_at_which_it_is_due():
    """The rule of the demo: 10 psi at its reading flow."""
    for psi, due in ((9.9, False), (10.1, True)):
        day = pd.Series({**DAY, "drop_pa_sediment": psi * PSI_PA})
        assert _box(skip_boxes.skip_boxes(SITE, day, DAY, "us", True), "sediment")[1] is due
