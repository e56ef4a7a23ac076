"""The figure of a reveal: what the display stood at and was seen at, what was lost, beside the expert."""

import pandas as pd
import plotly.graph_objects as go

from sim.drill.play import Ended
from sim.drill.reveal import water
from sim.report.figures.drawing import panels
from sim.report.figures.style import BLUE, INK, VERMILION, dressed
from sim.study.wording import number
from sim.units import SHOWN, Units, from_si

LEAST_TOP = 1.0  # of an axis: gallons or litres, hours


def drill_figure(days: pd.DataFrame, ended: Ended, units: Units) -> go.Figure:
    """Return readings, water below the dose target and hours without water of both runs, by the day."""
    unit = SHOWN[units]["volume"].unit
    lost = ((2, "below_target_m3", from_si(1.0, unit, "volume")), (3, "water_off_h", 1.0))
    titles = (
        "UV reading, % (dots: as it was seen)",
        f"Below the dose target each day, {unit}",
        "Hours without water each day",
    )
    drawing = panels(titles, 0.1)
    for name, column, colour, dash in (
        ("you", "reading", VERMILION, "solid"), ("expert", "expert_reading", BLUE, "dash"),
    ):  # fmt: skip
        line = {"color": colour, "dash": dash, "width": 2}
        drawing.add("scatter", x=days["day"], y=100.0 * days[column], mode="lines", name=name, line=line)
    seen = 100.0 * days["display_seen"].astype(float)
    drawing.add(
        "scatter", x=days["day"], y=seen, mode="markers", name="seen", marker={"color": INK, "size": 5}
    )
    for row, column, scale in lost:
        most = 0.0
        for name, whose, colour, shape in (("you", "", VERMILION, ""), ("expert", "expert_", BLUE, "/")):
            values = scale * days[f"{whose}{column}"]
            most = max(most, float(values.max()))
            drawing.add(
                "bar", row, x=days["day"], y=values, name=name, showlegend=False,
                marker={"color": colour, "pattern": {"shape": shape}},
            )  # fmt: skip
        drawing.axes("y", row, range=[0.0, max(1.1 * most, LEAST_TOP)])
    began = ended.case.staged[0].day
    drawing.strip(began, began, line={"dash": "dot", "color": INK})
    drawing.axes("x", 3, title={"text": "day"})
    drawing.axes("y", 1, rangemode="tozero")
    return dressed(drawing, 620).figure()


def drill_alt(days: pd.DataFrame, ended: Ended, units: Units) -> str:
    """Return what the figure shows."""
    began = ended.case.staged[0].day
    since = days[days["day"] >= began]
    own, best = (
        water(float(since[name].sum()), units) for name in ("below_target_m3", "expert_below_target_m3")
    )
    dry, least = (float(since[name].sum()) for name in ("water_off_h", "expert_water_off_h"))
    return (
        f"The fault began on day {began} (dotted). From then on {own} came "
        f"below the dose target, in the expert's run {best}; the water was off for "
        f"{number(dry)} h, in the expert's run for {number(least)} h."
    )
