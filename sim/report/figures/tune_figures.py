"""Figures of a search over intervals: cost and risk against one dial."""

import plotly.graph_objects as go
from plotly.subplots import make_subplots

from sim.report.figures.run_figure import titles_left
from sim.report.figures.style import BLUE, INK, SKY, VERMILION, dressed
from sim.study.tune.curves import Curve
from sim.study.tune.tune import TuneStudy
from sim.study.tune.tune_words import curve_line
from sim.units import Units


def dial_figure(curve: Curve, study: TuneStudy, currency: str, units: Units) -> go.Figure:
    """Return cost and days below the dose target against the levels of a dial."""
    figure = make_subplots(
        rows=2, cols=1, shared_xaxes=True, vertical_spacing=0.14,
        subplot_titles=(
            f"Cost less that of the choice, {currency} a year",
            "Days below the dose target a year (dashed: the limit)",
        ),
    )  # fmt: skip
    levels = [curve.dial.said(at, units) for at in range(len(curve.dial.levels))]
    for row, (intervals, colour, dash) in enumerate(
        ((curve.cost, BLUE, "solid"), (curve.days, VERMILION, "dot")), 1
    ):
        figure.add_scatter(
            x=levels, y=[one.estimate for one in intervals], mode="lines+markers", row=row, col=1,
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
    figure.add_vrect(
        x0=curve.flat[0] - 0.4,
        x1=curve.flat[1] + 0.4,
        fillcolor=SKY,
        opacity=0.2,
        line_width=0,
        layer="below",
    )
    figure.add_hline(
        y=study.limits.days_below_target, row=2, col=1, line={"dash": "dash", "color": INK, "width": 2}
    )
    figure.update_xaxes(type="category", tickfont_size=12)
    figure.update_yaxes(rangemode="tozero", row=2, col=1)
    titles_left(figure)
    return dressed(figure, 480, showlegend=False).update_layout(margin={"r": 20})


def dial_alt(curve: Curve, study: TuneStudy, currency: str, units: Units) -> str:
    """Return what the figure shows."""
    return (
        f"{curve_line(curve, study, currency, units)} The shaded part is flat, the star is the "
        "choice, the dashed line the limit."
    )
