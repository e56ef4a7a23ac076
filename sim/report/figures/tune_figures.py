"""Figures of a search over intervals: cost and risk against one dial."""

import plotly.graph_objects as go

from sim.report.figures.drawing import panels
from sim.report.figures.style import BLUE, INK, SKY, VERMILION, dressed
from sim.study.tune.curves import Curve
from sim.study.tune.tune import TuneStudy
from sim.study.tune.tune_words import curve_line
from sim.units import Units


def dial_figure(curve: Curve, study: TuneStudy, currency: str, units: Units) -> go.Figure:
    """Return cost and days below the dose target against the levels of a dial."""
    titles = (
        f"Cost less that of the choice, {currency} a year",
        "Days below the dose target a year (dashed: the limit)",
    )
    drawing = panels(titles, 0.14)
    levels = [curve.dial.said(at, units) for at in range(len(curve.dial.levels))]
    for row, (intervals, colour, dash) in enumerate(
        ((curve.cost, BLUE, "solid"), (curve.days, VERMILION, "dot")), 1
    ):
        drawing.add(
            "scatter", row, x=levels, y=[one.estimate for one in intervals], mode="lines+markers",
            line={"color": colour, "dash": dash},
            marker={"symbol": ["star" if at == curve.level else "circle" for at in range(len(levels))],
                    "size": [15 if at == curve.level else 8 for at in range(len(levels))]},
            error_y={
                "type": "data", "symmetric": False, "color": colour, "thickness": 1.5,
                "array": [one.high - one.estimate if one.known else 0.0 for one in intervals],
                "arrayminus": [
                    one.estimate - (max(0.0, one.low) if row == 2 else one.low) if one.known else 0.0
                    for one in intervals
                ],
            },
        )  # fmt: skip
    drawing.strip(
        curve.flat[0] - 0.4, curve.flat[1] + 0.4, fillcolor=SKY, opacity=0.2, line={"width": 0}, layer="below"
    )
    drawing.level(study.limits.days_below_target, {"dash": "dash", "color": INK, "width": 2}, 2)
    drawing.axes("x", type="category", tickfont={"size": 12})
    drawing.axes("y", 2, rangemode="tozero")
    dressed(drawing, 480, showlegend=False).lay(margin={"r": 20})
    return drawing.figure()


def dial_alt(curve: Curve, study: TuneStudy, currency: str, units: Units) -> str:
    """Return what the figure shows."""
    return (
        f"{curve_line(curve, study, currency, units)} The shaded part is flat, the star is the "
        "choice, the dashed line the limit."
    )
