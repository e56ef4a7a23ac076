"""The figure of a reveal: what the display stood at and was seen at, what was lost, beside the expert."""

import pandas as pd
import plotly.graph_objects as go
from plotly.subplots import make_subplots

from sim.drill.play import Ended
from sim.drill.reveal import water
from sim.report.figures.run_figure import titles_left
from sim.report.figures.style import BLUE, INK, VERMILION, dressed
from sim.study.wording import number
from sim.units import SHOWN, Units, from_si

LEAST_TOP = 1.0  # of an axis: gallons or litres, hours


def drill_figure(days: pd.DataFrame, ended: Ended, units: Units) -> go.Figure:
    """Return readings, water below the dose target and hours without water of both runs, by the day."""
    unit = SHOWN[units]["volume"].unit
    lost = ((2, "below_target_m3", from_si(1.0, unit, "volume")), (3, "water_off_h", 1.0))
    figure = make_subplots(
        rows=3, cols=1, shared_xaxes=True, vertical_spacing=0.1,
        subplot_titles=("UV reading, % (dots: as it was seen)", f"Below the dose target each day, {unit}",
                        "Hours without water each day"),
    )  # fmt: skip
    for name, column, colour, dash in (
        ("you", "reading", VERMILION, "solid"), ("expert", "expert_reading", BLUE, "dash"),
    ):  # fmt: skip
        line = {"color": colour, "dash": dash, "width": 2}
        figure.add_scatter(
            x=days["day"], y=100.0 * days[column], mode="lines", name=name, line=line, row=1, col=1
        )
    seen = 100.0 * days["display_seen"].astype(float)
    figure.add_scatter(
        x=days["day"], y=seen, mode="markers", name="seen", marker={"color": INK, "size": 5}, row=1, col=1
    )
    for row, column, scale in lost:
        most = 0.0
        for name, whose, colour, shape in (("you", "", VERMILION, ""), ("expert", "expert_", BLUE, "/")):
            values = scale * days[f"{whose}{column}"]
            most = max(most, float(values.max()))
            figure.add_bar(
                x=days["day"], y=values, name=name, row=row, col=1, showlegend=False,
                marker={"color": colour, "pattern": {"shape": shape}},
            )  # fmt: skip
        figure.update_yaxes(range=[0.0, max(1.1 * most, LEAST_TOP)], row=row, col=1)
    for row in (1, 2, 3):
        figure.add_vline(x=ended.case.staged[0].day, line={"dash": "dot", "color": INK}, row=row, col=1)
    figure.update_xaxes(title_text="day", row=3, col=1)
    figure.update_yaxes(rangemode="tozero", row=1, col=1)
    titles_left(figure)
    return dressed(figure, 620)


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
