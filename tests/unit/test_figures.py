"""Figures carry the numbers of the frames they were made from."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from sim.report.figures import axis_range, cost_figure, front_figure, interval_figure, run_figure, thinned
from sim.report.figures.comparison_figures import comparison_plates
from sim.study.compare.comparison import compare

PSI = 6894.757293168361  # Pa, exact by definition of the pound and the inch


@pytest.fixture
def rows() -> pd.DataFrame:
    base = {
        "years": 1.0,
        "water_off_h": 2.0,
        "alarm_h": 1.0,
        "least_dose_j_m2": 300.0,
        "cost_part_life": 0.0,
    }
    made = []
    for policy, parts, days in (("a", 100.0, 0.0), ("b", 300.0, 20.0)):
        for number in range(12):
            cost = {"cost_parts": parts + number, "cost_labour": 50.0, "cost_callouts": 0.0}
            cost |= {"cost_energy": 10.0, "cost_water": 5.0}
            made.append(
                {"policy": policy, "replication": number, **base, **cost, "cost": sum(cost.values())}
                | {"days_below_target": days + (number % 3 if days else 0.0)}
            )
    return pd.DataFrame(made)


@pytest.fixture
def days() -> pd.DataFrame:
    count = 30
    dates = pd.date_range("2021-01-01", periods=count)
    return pd.DataFrame(
        {
            "day": range(count),
            "date": dates,
            "tank_pressure_min_pa": 40 * PSI,
            "tank_pressure_max_pa": 60 * PSI,
            "tap_pressure_min_pa": 30 * PSI,
            "drop_pa_sediment": np.linspace(1, 10, count) * PSI,
            "uv_reading": np.linspace(1.0, 0.5, count),
            "dose_least_j_m2": [np.nan, 0.0, *np.linspace(800, 200, count - 2)],
            "water_off_s": 3600.0,
        }
    )


@pytest.fixture
def events() -> pd.DataFrame:
    times = pd.to_datetime(["2021-01-05", "2021-01-05", "2021-01-09", "2021-01-20"])
    return pd.DataFrame(
        {
            "time": times,
            "kind": ["visit", "task", "alarm", "failure"],
            "subject": ["owner", "change cartridge", "uv", "lamp"],
            "note": ["", "sediment", None, "out"],
        }
    )


def traces(figure, name):
    return [trace for trace in figure.data if trace.name == name]


def test_cost_stack_shows_the_means_and_their_sum(rows):
    figure = cost_figure.cost_stack(rows, "USD")
    (parts,) = traces(figure, "parts")
    assert list(parts.y) == ["a", "b"]
    assert list(parts.x) == [105.5, 305.5]  # 100 + mean of 0 to 11
    stacked = np.sum([trace.x for trace in figure.data], axis=0)
    assert stacked.tolist() == [170.5, 370.5]
    patterns = [trace.marker.pattern.shape for trace in figure.data]
    assert len(set(patterns)) == len(patterns)  # told apart without colour
    said = cost_figure.cost_stack_alt(rows, "USD")
    assert "'a' has the least mean cost" in said
    assert "170" in said or "171" in said


def test_days_below_target_shows_bounds_and_the_limit(rows):
    comparison = compare(rows, "a", 5.0)
    figure = interval_figure.span_figure(comparison, interval_figure.DAYS, 5.0)
    (outside,) = traces(figure, "not shown to be within it")
    summary = comparison.summary("b")
    assert summary.by_days.state == "over"
    assert set(outside.y) == {one.policy for one in comparison.summaries if one.by_days.state != "within"}
    at = list(outside.y).index("b")
    assert outside.x[at] == 21.0  # 20 + mean of 0, 1, 2
    assert outside.x[at] + outside.error_x.array[at] == pytest.approx(
        summary.days_below_target.high, rel=1e-12
    )
    (limit,) = traces(figure, "limit 5")
    assert set(limit.x) == {5.0}
    assert "; 'b' 21" in interval_figure.span_alt(comparison, interval_figure.DAYS, 5.0)


@pytest.mark.parametrize(("units", "most", "target"), [("us", 60.0, 40.0), ("si", 60 * PSI / 1e3, 40.0)])
def test_history_converts_to_the_units_asked_for(days, events, units, most, target):
    figure = run_figure.history_figure(days, events, ["sediment"], units, 400.0, 0.6)
    assert traces(figure, "most")[0].y[0] == pytest.approx(most, rel=1e-12)
    assert traces(figure, "alarm below 60 %")[0].y[0] == 60.0
    assert traces(figure, f"target {target:g}")[0].y[0] == target
    least = traces(figure, "least dose")[0].y
    assert np.isnan(least[:2]).all()  # nothing flowed; a dose of nil has no place on a logarithmic axis
    (nil,) = traces(figure, "dose of nil")
    assert list(nil.x) == [days["date"][1]]  # day 0 had no flow at all; day 1 is marked apart
    assert nil.y[0] < 20.0
    assert (least[2], least[-1]) == (80.0, 20.0)
    assert figure.layout.yaxis4.type == "log"
    assert [len(traces(figure, kind)[0].x) for kind in ("task", "failure", "alarm")] == [1, 1, 1]


def test_history_in_words_counts_the_days(days, events):
    said = run_figure.history_alt(days, events, "a", 400.0)
    low = int((days["dose_least_j_m2"] < 400.0).sum())
    assert f"under the target on {low} days" in said
    assert "1 technician visit," in said


def test_the_plates_of_a_comparison_say_which_need_the_caution_and_what_is_to_be_known(rows):
    """What shows a dose, or days counted by it, stands behind the caution; the alarm hears the same lamp."""
    goals = SimpleNamespace(limit_water_off_h=500.0, limit_days_below_target=5.0, limit_alarm_h=None)
    plates = {one.name: one for one in comparison_plates(rows, compare(rows, "a", 5.0), goals, "USD")}
    assert list(plates) == ["days", "water-off", "alarm", "cost", "front"]  # the rows say no causes
    assert {name for name, one in plates.items() if one.shows_dose} == {"days", "alarm", "front"}
    assert plates["water-off"].note.endswith("Over 500 h a year a policy is not compared on cost.")
    assert plates["days"].note == "Dots are means, bars their bounds at 95 % confidence."
    assert plates["cost"].table["policy"].tolist() == ["a", "b"] and plates["cost"].table["all"].tolist() == [
        170.5,
        370.5,
    ]
    assert "within the limit" in plates["days"].table and "within the limit" not in plates["alarm"].table
    assert plates["front"].title == "Cost against days below the dose target"


def test_thinning_keeps_few_points_and_every_peak():
    x = np.arange(100_000)
    y = np.sin(x / 50.0)
    y[12_345], y[77_777] = 9.0, -9.0
    kept_x, kept_y = thinned.thinned(x, y)
    assert len(kept_x) <= thinned.MOST_POINTS
    assert (kept_y.max(), kept_y.min()) == (9.0, -9.0)
    assert (np.diff(kept_x) > 0).all()


def test_thinning_leaves_few_points_and_gaps_alone():
    x, y = np.arange(9), np.full(9, np.nan)
    assert thinned.thinned(x, y)[0] is x
    assert np.isnan(thinned.thinned(x, y, most=4)[1]).all()


def test_the_front_joins_what_no_other_beats_in_both(rows):
    comparison = compare(rows, "a", 5.0)
    assert front_figure.unbeaten(comparison) == ["a"]  # cheaper, and without a day below target
    marks = {trace.name: (trace.x[0], trace.y[0]) for trace in front_figure.front(comparison, "USD").data[1:]}
    assert marks["A  a"] == pytest.approx((100.0 + 5.5 + 65.0, 0.0))
    assert marks["B  b"] == pytest.approx((300.0 + 5.5 + 65.0, 21.0))
    swapped = rows.assign(days_below_target=rows["days_below_target"].to_numpy()[::-1])
    assert front_figure.unbeaten(compare(swapped, "a", 5.0)) == ["a", "b"]


def test_an_axis_ends_where_the_others_are_seen_and_an_arrow_says_so(rows):
    far = rows[rows["policy"] == "b"].assign(policy="c", water_off_h=9000.0 / 3.0 + np.arange(12))
    three = pd.concat([rows.assign(water_off_h=3.0 + rows.groupby("policy").cumcount() % 3), far])
    comparison = compare(three, "a", 5.0)
    figure = interval_figure.span_figure(comparison, interval_figure.OFF, None)
    (arrow,) = traces(figure, axis_range.BEYOND)
    assert list(arrow.y) == ["c"]
    assert figure.layout.xaxis.range[1] < 10.0  # a and b are off for 3 to 5 h, c for 3,000
    assert any(note.text.startswith("3,0") for note in figure.layout.annotations)  # its numbers stand there


def test_letters_of_marks_that_lie_together_keep_apart():
    sides = axis_range.placed([(0.5, 0.5), (0.5, 0.5), (0.9, 0.9)])
    assert sides[0] != sides[1]
