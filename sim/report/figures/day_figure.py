"""The figure of one day: gauge pressure, flow, dose at flow, and what ran, was drawn and happened."""

from dataclasses import dataclass
from html import escape

import numpy as np
import pandas as pd
import plotly.graph_objects as go

from sim.report.figures.day_moment import DAY_S, Moment
from sim.report.figures.drawing import Drawing, panels
from sim.report.figures.run_figure import EVENT_MARKS, LOG_TICKS
from sim.report.figures.style import BLUE, GREEN, INK, LINES, VERMILION, broken, dressed
from sim.report.figures.thinned import MOST_POINTS, thinned
from sim.study.wording import counted, given
from sim.units import SHOWN, Units, from_si, text

Tables = dict[str, pd.DataFrame]
OTHER_MARK = ("diamond", INK)  # of events that have no mark of their own


@dataclass(frozen=True)
class Clock:
    """Times of the run as times of the calendar."""

    midnight: pd.Timestamp
    midnight_s: float

    def __call__(self, seconds: pd.Series) -> pd.Series:
        """Return times of the calendar."""
        return self.midnight + pd.to_timedelta(seconds - self.midnight_s, unit="s")


def close_figure(
    day: Tables, start: pd.Timestamp, units: Units, target_j_m2: float, now: Moment
) -> go.Figure:
    """Return the figure of one day."""
    unit = {kind: SHOWN[units][kind].unit for kind in ("pressure", "flow", "dose")}
    titles = (
        f"Gauge pressure, {unit['pressure']}",
        f"Flow, {unit['flow']}",
        f"Dose at flow, {unit['dose']} (a simulation, not a water test)",
        "Pump runs, draws, events",
    )
    uses = list(dict.fromkeys(day["draws"]["use"].astype(str)))
    drawing = panels(titles, 0.075, [0.24, 0.24, 0.24, 0.28])
    trace = day["trace"]
    x, y = trace["time"].to_numpy(), trace["tank_pressure_pa"].to_numpy()
    _line(drawing, 1, x, from_si(1.0, unit["pressure"], "pressure") * y, "gauge pressure", BLUE, "linear")
    flow = from_si(1.0, unit["flow"], "flow") * trace["flow_m3_s"].to_numpy()
    _line(drawing, 2, x, flow, "flow", GREEN, "vh")
    _doses(drawing, trace, unit["dose"], from_si(target_j_m2, unit["dose"], "dose"))
    clock = Clock(start, now.at_s // DAY_S * DAY_S)
    _runs(drawing, day["pump"], day["pump"]["stop_s"], "pump", INK, clock)
    for at, use in enumerate(uses):
        shown = day["draws"][day["draws"]["use"] == use]
        colour = LINES[at % len(LINES)]
        _runs(drawing, shown, shown["start_s"] + shown["seconds"], use, colour, clock)
    _events(drawing, day["events"])
    lanes = ["pump", *uses, "events"]
    drawing.axes(
        "y", 4, type="category", categoryorder="array", categoryarray=lanes[::-1],
        range=[-0.6, len(lanes) - 0.4], tickvals=lanes, ticktext=[broken(lane, 20) for lane in lanes],
    )  # fmt: skip
    drawing.axes("y", 2, rangemode="tozero")
    drawing.axes("x", range=[start, start + pd.Timedelta(days=1)], tickformat="%H:%M", nticks=7, tickangle=0)
    moment = start + pd.Timedelta(seconds=now.at_s - clock.midnight_s)
    drawing.strip(moment, moment, line={"color": INK, "width": 1.5, "dash": "dot"})
    dressed(drawing, 640 + 26 * len(lanes), showlegend=False).lay(margin={"r": 20})
    return drawing.figure()


def close_alt(day: Tables, date: str, units: Units, target_j_m2: float) -> str:
    """Return what the figure of one day shows."""
    trace = day["trace"]
    pressure, dose = trace["tank_pressure_pa"], trace["dose_j_m2"]
    words = (
        f"{date}: gauge pressure between {text(pressure.min(), 'pressure', units)} and "
        f"{text(pressure.max(), 'pressure', units)}, largest flow "
        f"{text(trace['flow_m3_s'].max(), 'flow', units)}, {counted(len(day['pump']), 'pump run')}, "
        f"{counted(len(day['draws']), 'draw')}."
    )
    if dose.notna().any():
        under = "under" if dose.min() < target_j_m2 else "not under"
        words += f" The least dose at a draw is {text(dose.min(), 'dose', units)}, {under} the target."
    return words


def _line(
    drawing: Drawing, row: int, x: np.ndarray, y: np.ndarray, label: str, colour: str, shape: str
) -> None:
    few_x, few_y = thinned(x, y)
    drawing.add(
        "scatter", row, x=few_x, y=few_y, mode="lines", name=label,
        line={"color": colour, "width": 1.6, "shape": shape},
        hovertemplate=f"%{{x|%H:%M:%S}} {label} %{{y:,.3r}}<extra></extra>",
    )  # fmt: skip


def _doses(drawing: Drawing, trace: pd.DataFrame, unit: str, target: float) -> None:
    """Add a mark for each step in which a draw took water; a dose of nil stands at the foot."""
    known = trace[trace["dose_j_m2"].notna()]
    x, y = thinned(known["time"].to_numpy(), from_si(1.0, unit, "dose") * known["dose_j_m2"].to_numpy())
    above = y > 0
    foot = min([target, *y[above]]) / 2
    for chosen, values, label, symbol, colour in (
        (above, y[above], "dose", "circle", BLUE),
        (~above, np.full(int((~above).sum()), foot), "dose of nil", "x", VERMILION),
    ):
        drawing.add(
            "scatter", 3, x=x[chosen], y=values, mode="markers", name=label,
            marker={"symbol": symbol, "color": colour, "size": 5 if label == "dose" else 8},
            hovertemplate=f"%{{x|%H:%M:%S}} {label} %{{y:,.3r}}<extra></extra>",
        )  # fmt: skip
    if (~above).any():
        drawing.note(3, x=x[~above][0], y=np.log10(foot), text="x dose of nil", xanchor="left", xshift=8)
    drawing.level(target, {"color": INK, "dash": "dash", "width": 1.6}, 3)
    drawing.note(
        3, x=0, xref="x3 domain", y=np.log10(target), text=f"target {given(target)}", xanchor="left",
        yanchor="bottom",
    )  # fmt: skip
    drawing.axes("y", 3, type="log", tickvals=LOG_TICKS, tickformat="~g")


def _runs(
    drawing: Drawing, runs: pd.DataFrame, stop_s: pd.Series, lane: str, colour: str, clock: Clock
) -> None:
    """Add a lane of bars, each from its start to its stop; one that has not ended goes on to midnight."""
    begin = clock(runs["start_s"])
    end = clock(stop_s).fillna(clock(pd.Series([clock.midnight_s + DAY_S]))[0])
    gaps = np.full(len(runs), np.datetime64("NaT"), dtype="datetime64[ns]")
    x = np.column_stack([begin.to_numpy(), end.to_numpy(), gaps]).ravel()[: 3 * (MOST_POINTS // 3)]
    drawing.add(
        "scatter", 4, x=x, y=np.full(len(x), lane, dtype=object), mode="lines+markers", name=lane,
        line={"color": colour, "width": 7},
        marker={"size": 5, "symbol": "line-ns", "color": colour, "line": {"width": 2, "color": colour}},
        hovertemplate="%{x|%H:%M:%S} %{y}<extra></extra>",
    )  # fmt: skip


def _events(drawing: Drawing, events: pd.DataFrame) -> None:
    for kind in dict.fromkeys(events["kind"].astype(str)):
        symbol, colour = EVENT_MARKS.get(kind, OTHER_MARK)
        shown = events[events["kind"] == kind].head(MOST_POINTS)
        text = kind + ": " + shown["subject"].astype(str) + " " + shown["note"].fillna("").astype(str)
        drawing.add(
            "scatter", 4, x=shown["time"], y=["events"] * len(shown), mode="markers", name=kind,
            text=text.map(escape), marker={"symbol": symbol, "color": colour, "size": 10},
            hovertemplate="%{x|%H:%M} %{text}<extra></extra>",
        )  # fmt: skip
