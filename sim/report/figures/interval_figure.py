"""Figures of an estimate and its interval for each policy: days below the dose target, hours of two kinds."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
import plotly.graph_objects as go

from sim.report.figures.axis_range import BEYOND, FAR, ROOM, edge_of
from sim.report.figures.drawing import Drawing
from sim.report.figures.style import BLUE, INK, VERMILION, dressed, narrowed
from sim.study.compare.comparison import Comparison
from sim.study.compare.policy_summary import PolicySummary
from sim.study.statistics.intervals import Interval
from sim.study.wording import capital, from_to, given, named

Row = tuple[str, Interval, bool]  # policy, estimate, whether it keeps within the limit


@dataclass(frozen=True)
class Measure:
    """Something counted for each policy."""

    name: str  # of files and keys
    title: str  # what people read above the figure
    axis: str  # what is counted, with its unit
    of: Callable[[PolicySummary], Interval]  # takes a summary, returns its interval
    within: Callable[[PolicySummary], bool]  # takes a summary, returns whether it keeps within the limit


DAYS = Measure(
    "days", "Days below the dose target a year", "days below the dose target a year",
    lambda item: item.days_below_target, lambda item: item.by_days.state == "within",
)  # fmt: skip
OFF = Measure(
    "water-off", "Water-off hours a year", "water-off hours a year",
    lambda item: item.water_off_h, lambda item: item.by_off.state == "within",
)  # fmt: skip
ALARM = Measure(
    "alarm", "Hours of alarm a year", "hours of alarm a year",
    lambda item: item.alarm_h, lambda item: item.by_alarm.state == "within",
)  # fmt: skip


def span_figure(comparison: Comparison, measure: Measure, limit: float | None = None) -> go.Figure:
    """Return an estimate and its interval for each policy, and the limit when it is in sight."""
    found: list[Row] = [
        (item.policy, measure.of(item), measure.within(item)) for item in comparison.summaries
    ]
    drawing, names = Drawing(), [name for name, _, _ in found]
    ends = [_end(span) for _, span, _ in found]
    edge = edge_of(ends)
    shown = limit if limit is not None and limit <= FAR * (edge or max(ends)) else None
    if edge is not None and shown is not None:  # what goes on beyond the edge goes on beyond the limit
        edge = max(edge, ROOM * shown)
        edge = edge if max(ends) > edge else None
    kinds = [(True, "within the limit" if limit is not None else "mean and interval", "circle", BLUE)]
    kinds += [(False, "not shown to be within it", "diamond-open", VERMILION)]
    for within, label, symbol, colour in kinds:
        rows = [row for row in found if row[2] is within and (edge is None or row[1].estimate <= edge)]
        _dots(drawing, rows, label, symbol, colour, edge)
    # Numbers begin at the axis, so that they fit a phone wherever the bar ends.
    for name, span, _ in found:
        drawing.note(x=0.0, y=name, text=from_to(span), xanchor="left", yshift=17, font={"size": 13})
    if edge is not None:
        _beyond(drawing, [row for row in found if _end(row[1]) > edge], edge)
    if shown is not None:
        drawing.add(  # a tick across each row, so that no number is struck through
            "scatter", x=[shown] * len(found), y=names, mode="markers", name=f"limit {given(shown)}",
            marker={"symbol": "line-ns", "size": 9, "line": {"color": INK, "width": 3}}, hoverinfo="skip",
        )  # fmt: skip
    drawing.axes("x", title={"text": measure.axis}, rangemode="tozero", tickformat=",")
    if edge is not None or not max(*ends, shown or 0.0):
        drawing.axes("x", range=[0, 1.04 * (edge or 0.0) or 1])
    drawing.axes("y", categoryorder="array", categoryarray=names)
    legend = limit is not None or edge is not None
    dressed(drawing, 130 + 58 * len(found), reverse_y=True, showlegend=legend)
    return narrowed(drawing, names).figure()


def span_alt(comparison: Comparison, measure: Measure, limit: float | None = None) -> str:
    """Return what a figure of intervals shows."""
    order = sorted(comparison.summaries, key=lambda item: measure.of(item).estimate)
    parts = []
    for item in order:
        said = f"{named(item.policy)} {from_to(measure.of(item))}"
        if limit is not None:
            how = "within" if measure.within(item) else "not shown to be within"
            said += f", {how} the limit of {given(limit)}"
        parts.append(said)
    return f"{capital(measure.axis)}, fewest first: {'; '.join(parts)}."


def span_table(comparison: Comparison, measure: Measure, limit: float | None = None) -> pd.DataFrame:
    """Return the numbers of a figure of intervals."""
    rows = []
    for item in comparison.summaries:
        span = measure.of(item)
        row = {"policy": item.policy, "mean": span.estimate}
        row |= {"low": span.low, "high": span.high} if span.known else {"low": np.nan, "high": np.nan}
        if measure is DAYS:
            row["runs with any"] = item.runs_with_days
            row["of them by people"] = "" if item.people_days is None else from_to(item.people_days)
        row["runs"] = item.runs
        if limit is not None:
            row["within the limit"] = "yes" if measure.within(item) else "not shown"
        if measure is DAYS:
            row["standing"] = item.by_days.state
        rows.append(row)
    return pd.DataFrame(rows)


def _end(span: Interval) -> float:
    return span.high if span.known else span.estimate


def _start(span: Interval) -> float:
    return span.low if span.known else span.estimate


def _beyond(drawing: Drawing, rows: Sequence[Row], edge: float) -> None:
    """Add an arrow at the edge in each row that goes on beyond it."""
    drawing.add(
        "scatter", x=[edge] * len(rows), y=[name for name, _, _ in rows], mode="markers", name=BEYOND,
        marker={"symbol": "triangle-right", "size": 13, "color": INK}, cliponaxis=False,
        text=[from_to(span) for _, span, _ in rows], hovertemplate="%{y}: %{text}<extra></extra>",
    )  # fmt: skip


def _dots(
    drawing: Drawing, rows: Sequence[Row], label: str, symbol: str, colour: str, edge: float | None
) -> None:
    if not rows:
        return
    most = float("inf") if edge is None else edge
    drawing.add(
        "scatter",
        x=[span.estimate for _, span, _ in rows],
        y=[name for name, _, _ in rows],
        mode="markers",
        name=label,
        text=[from_to(span) for _, span, _ in rows],
        marker={"symbol": symbol, "size": 12, "color": colour, "line": {"width": 2, "color": colour}},
        error_x={
            "type": "data",
            "symmetric": False,
            "array": [max(0.0, min(_end(span), most) - span.estimate) for _, span, _ in rows],
            "arrayminus": [max(0.0, span.estimate - _start(span)) for _, span, _ in rows],
            "color": colour,
            "thickness": 2,
        },
        hovertemplate="%{y}: %{text}<extra></extra>",
        cliponaxis=False,
    )
