"""Figures of a skip: the run as kept and the run as skipped, on the same axes."""

import pandas as pd
import plotly.graph_objects as go

from sim.report.figures.drawing import panels
from sim.report.figures.style import BLUE, INK, VERMILION, dressed
from sim.report.figures.thinned import thinned
from sim.study.skip.story import Story
from sim.study.wording import counted, percent
from sim.units import SHOWN, Units, from_si

KEPT, LEFT = "kept", "skipped"


def skip_figure(
    kept: pd.DataFrame, skipped: pd.DataFrame, story: Story, alarm: float, units: Units
) -> go.Figure:
    """Return UV reading, greatest drop and days below the dose target, kept and skipped.

    Parameters
    ----------
    alarm : float
        Reading below which the alarm comes [fraction].
    """
    unit = SHOWN[units]["pressure"].unit
    titles = (
        f"UV reading, % of new and clean (dotted: the alarm, {percent(alarm)})",
        f"Greatest drop over a stage, {unit}",
        "Days below the dose target each month",
    )
    drawing = panels(titles, 0.09, [0.36, 0.34, 0.3])
    lines = {KEPT: _shown(kept, unit), LEFT: _shown(skipped, unit)}
    for run, name, colour, dash in ((kept, KEPT, BLUE, "dash"), (skipped, LEFT, VERMILION, "solid")):
        line = {"color": colour, "dash": dash, "width": 2}
        other = lines[LEFT if name == KEPT else KEPT]
        for row, y in lines[name].items():
            above = (y.iloc[-1], name == KEPT) > (
                other[row].iloc[-1],
                name == LEFT,
            )  # its end, where it is named
            x, thin = thinned(run["date"].to_numpy(), y.to_numpy())
            drawing.add("scatter", row, x=x, y=thin, mode="lines", name=name, line=line)
            drawing.note(
                row, x=x[-1], y=thin[-1], text=name, xanchor="left", xshift=4, yshift=8 if above else -8
            )
    drawing.level(100.0 * alarm, {"dash": "dot", "color": INK})
    months = [month.first for month in story.months]
    for at, name, colour, pattern in ((1, KEPT, BLUE, "/"), (0, LEFT, VERMILION, "")):
        drawing.add(
            "bar", 3, x=months, y=[month.below[at] for month in story.months], name=name,
            marker={"color": colour, "pattern": {"shape": pattern}},
        )  # fmt: skip
    most = max((count for month in story.months for count in month.below), default=0)
    drawing.axes("y", 3, rangemode="tozero", dtick=1 if most < 5 else None, nticks=5)
    return dressed(drawing, 520, showlegend=False).figure()


def _shown(run: pd.DataFrame, unit: str) -> dict[int, pd.Series]:
    """Return UV reading [%] and greatest drop [in the unit shown] of each day, by their row in the figure."""
    drops = run.filter(like="drop_pa_").max(axis=1).fillna(0.0)
    return {1: 100.0 * run["uv_reading"], 2: drops * from_si(1.0, unit, "pressure")}


def months_table(story: Story, units: Units) -> pd.DataFrame:
    """Return the months of a story as a table people read."""
    unit = SHOWN[units]["pressure"].unit
    factor = from_si(1.0, unit, "pressure")
    rows = []
    for month in story.months:
        row: dict[str, object] = {"month": f"{month.first:%Y-%m}"}
        for at, run in enumerate((LEFT, KEPT)):
            row |= {
                f"days below, {run}": month.below[at],
                f"days of alarm, {run}": month.alarm[at],
                f"UV reading, {run}, %": 100.0 * month.reading[at],
                f"greatest drop, {run}, {unit}": factor * month.drop_pa[at],
                f"water off, {run}, h": month.off_h[at],
            }
        rows.append(row)
    return pd.DataFrame(rows)


def skip_alt(kept: pd.DataFrame, skipped: pd.DataFrame, story: Story) -> str:
    """Return what the figure shows."""
    least = [percent(float(run["uv_reading"].min())) for run in (skipped, kept)]
    days = [sum(month.below[at] for month in story.months) for at in (0, 1)]
    fell = counted(days[0], "day is", "days are")
    return (
        f"Skipped, the UV reading falls to {least[0]} (kept: {least[1]}) and {fell} below the dose target "
        f"from the month of the skip on (kept: {days[1]})."
    )
