"""The figure of one run: what the gauges showed, what the water got, what people did."""

import math
from collections.abc import Sequence
from html import escape

import numpy as np
import pandas as pd
import plotly.graph_objects as go

from sim.report.figures.drawing import Drawing, panels
from sim.report.figures.style import BLUE, DASHES, GREEN, INK, LINES, VERMILION, dressed
from sim.report.figures.thinned import MOST_POINTS, thinned
from sim.study.wording import counted, given, named, percent
from sim.units import SHOWN, Units, from_si, text

EVENT_MARKS = {  # kind of event, marker, colour
    "task": ("circle", BLUE),
    "failure": ("x", VERMILION),
    "alarm": ("triangle-up", INK),
    "tanker": ("square", GREEN),
}
_PANEL_PX, _NAME_PX = 140.0, 17.0  # height of a panel and of a name in it
LOG_TICKS = [step * 10.0**power for power in range(-2, 5) for step in (1, 2, 5)]


def history_figure(
    days: pd.DataFrame,
    events: pd.DataFrame,
    stages: Sequence[str],
    units: Units,
    target_j_m2: float,
    alarm_fraction: float,
) -> go.Figure:
    """Return the days of one run: pressure, drop over each stage, UV reading, least dose, service.

    Parameters
    ----------
    alarm_fraction : float
        Reading at which the alarm comes [fraction].
    """
    dose = SHOWN[units]["dose"].unit
    more = (f"Least dose of the day, {dose} (a simulation, not a water test)", "Service and failures")
    drawing = panels((*_titles(units), *more), 0.055, [0.22, 0.22, 0.2, 0.22, 0.14])
    _gauges(drawing, days, stages, units, alarm_fraction)
    least = _in(days["dose_least_j_m2"], dose, "dose")
    _line(drawing, 4, days, least.where(least > 0), "least dose", 0)
    target = from_si(target_j_m2, dose, "dose")
    _nil_doses(drawing, days, least, target)
    _level(drawing, 4, days, target, f"target {given(target)}")
    drawing.axes("y", 4, type="log", tickvals=LOG_TICKS, tickformat="~g")
    _service(drawing, events)
    dressed(drawing, 860, showlegend=False).lay(margin={"r": 96})
    return drawing.figure()


def gauges_figure(
    days: pd.DataFrame, stages: Sequence[str], units: Units, alarm_fraction: float
) -> go.Figure:
    """Return the days of one run as its gauges showed them, and nothing of what they do not show."""
    drawing = panels(_titles(units), 0.09)
    _gauges(drawing, days, stages, units, alarm_fraction)
    dressed(drawing, 560, showlegend=False).lay(margin={"r": 96})
    return drawing.figure()


def gauges_alt(days: pd.DataFrame) -> str:
    """Return what the gauges of one run show."""
    low, high = (percent(float(value)) for value in (days["uv_reading"].min(), days["uv_reading"].max()))
    alarms = counted(int(days["alarm"].sum()), "day")
    return (
        f"The gauges of {counted(len(days), 'day')}: the UV reading lies between {low} and {high}; the alarm "
        f"is noted on {alarms}."
    )


def _titles(units: Units) -> tuple[str, str, str]:
    pressure = SHOWN[units]["pressure"].unit
    return (
        f"Gauge pressure, {pressure}",
        f"Greatest drop over each stage, {pressure}",
        "UV reading, % of new and clean",
    )


def _gauges(
    drawing: Drawing, days: pd.DataFrame, stages: Sequence[str], units: Units, alarm_fraction: float
) -> None:
    """Draw what the gauges showed into the first three panels."""
    pressure = SHOWN[units]["pressure"].unit
    ends = (("most", days["tank_pressure_max_pa"]), ("least", days["tank_pressure_min_pa"]))
    drops = [(stage, days[f"drop_pa_{stage}"]) for stage in stages]
    for row, lines in ((1, ends), (2, drops)):
        for at, (label, values) in enumerate(lines):
            _line(drawing, row, days, _in(values, pressure, "pressure"), label, at)
        _names(drawing, row, days, [(label, _in(values, pressure, "pressure")) for label, values in lines])
    _line(drawing, 3, days, 100.0 * days["uv_reading"], "reading", 0)
    _level(drawing, 3, days, 100.0 * alarm_fraction, f"alarm below {percent(alarm_fraction)}")
    whole = [days["date"].iloc[0], days["date"].iloc[-1]]
    drawing.axes("x", range=whole, nticks=5, tickformat="%b<br>%Y", tickangle=0)


def history_alt(days: pd.DataFrame, events: pd.DataFrame, policy: str, target_j_m2: float) -> str:
    """Return what the history of one run shows."""
    dose = days["dose_least_j_m2"]
    low = int((dose < target_j_m2).sum())
    kinds = events["kind"].value_counts()
    least = f"; the least is {text(float(dose.min()), 'dose', 'us')}" if dose.notna().any() else ""
    counts = [
        counted(int(kinds.get(kind, 0)), noun, plural)
        for kind, noun, plural in (
            ("visit", "technician visit", ""), ("task", "task done", "tasks done"),
            ("failure", "failure", ""), ("alarm", "UV alarm", ""),
        )
    ]  # fmt: skip
    return (
        f"{named(policy)}, one run of {counted(len(days), 'day')}: the least dose of the day is under the "
        f"target on {counted(low, 'day')}{least}. In it: {', '.join(counts)}."
    )


def _in(values: pd.Series, unit: str, kind: str) -> pd.Series:
    """Return SI values in a unit; pressure and dose are in proportion, so one factor does."""
    return values * from_si(1.0, unit, kind)


def _line(drawing: Drawing, row: int, days: pd.DataFrame, values: pd.Series, label: str, at: int) -> None:
    x, y = thinned(days["date"].to_numpy(), values.to_numpy(dtype=np.float64))
    colour = LINES[at % len(LINES)]
    line = {"color": colour, "dash": DASHES[at % len(DASHES)], "width": 1.6}
    drawing.add(
        "scatter", row, x=x, y=y, mode="lines", name=label, line=line,
        hovertemplate=f"%{{x|%Y-%m-%d}} {label} %{{y:,.3r}}<extra></extra>",
    )  # fmt: skip


def _names(drawing: Drawing, row: int, days: pd.DataFrame, lines: Sequence[tuple[str, pd.Series]]) -> None:
    """Write the name of each line at its right end, one above the other where lines end side by side."""
    known = [(label, values.dropna()) for label, values in lines]
    lasts = sorted((float(values.iloc[-1]), label) for label, values in known if len(values))
    px_each = _PANEL_PX / max([1e-9, *(float(values.max()) for _, values in known if len(values))])
    above = -math.inf
    for last, label in lasts:
        height = max(last * px_each, above + _NAME_PX)
        above = height
        drawing.note(
            row, x=days["date"].iloc[-1], y=last, text=escape(label), xanchor="left", xshift=5,
            yshift=height - last * px_each,
        )  # fmt: skip


def _nil_doses(drawing: Drawing, days: pd.DataFrame, least: pd.Series, target: float) -> None:
    """Mark days with a dose of nil at the foot of the logarithmic panel, where no line can go."""
    nil = days.loc[least == 0, "date"].head(MOST_POINTS)
    foot = min(target, float(least.where(least > 0).min(skipna=True)) if (least > 0).any() else target) / 2
    drawing.add(
        "scatter", 4, x=nil, y=[foot] * len(nil), mode="markers", name="dose of nil",
        marker={"symbol": "x", "color": VERMILION, "size": 7},
        hovertemplate="%{x|%Y-%m-%d} dose of nil<extra></extra>",
    )  # fmt: skip
    if len(nil):
        end = days["date"].iloc[-1]
        drawing.note(4, x=end, y=np.log10(foot), text="x dose of nil", xanchor="left", xshift=5)


def _level(drawing: Drawing, row: int, days: pd.DataFrame, value: float, label: str) -> None:
    """Add a dashed level across a panel, named at its right end."""
    ends = [days["date"].iloc[0], days["date"].iloc[-1]]
    drawing.add(
        "scatter", row, x=ends, y=[value, value], mode="lines", name=label,
        line={"color": INK, "dash": "dash", "width": 1.6}, hoverinfo="skip",
    )  # fmt: skip
    drawing.note(
        row, x=ends[1], y=np.log10(value) if row == 4 else value, text=label.replace(" below", ""),
        xanchor="left", xshift=5, yshift=7,
    )  # fmt: skip


def _service(drawing: Drawing, events: pd.DataFrame) -> None:
    """Add a lane of marks for each kind of event."""
    for kind, (symbol, colour) in EVENT_MARKS.items():
        shown = events[events["kind"] == kind].head(MOST_POINTS)
        text = shown["subject"].astype(str) + " " + shown["note"].fillna("").astype(str)
        drawing.add(
            "scatter", 5, x=shown["time"], y=[kind] * len(shown), mode="markers", name=kind, text=text,
            marker={"symbol": symbol, "color": colour, "size": 8}, cliponaxis=False,
            hovertemplate="%{x|%Y-%m-%d} %{y}: %{text}<extra></extra>",
        )  # fmt: skip
    drawing.axes("y", 5, type="category", categoryorder="array", categoryarray=list(EVENT_MARKS))
