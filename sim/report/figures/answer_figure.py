"""The answer in one figure: for each policy its money, its bad days stacked by cause, its hours of alarm."""

import pandas as pd
import plotly.graph_objects as go

from sim.report.figures.axis_range import BEYOND, edge_of
from sim.report.figures.drawing import panels
from sim.report.figures.style import (
    BLUE,
    GREEN,
    HATCH,
    INK,
    ORANGE,
    PURPLE,
    SKY,
    VERMILION,
    YELLOW,
    dressed,
    narrowed,
)
from sim.study.compare.causes_said import TOLD_SHARE
from sim.study.compare.comparison import Comparison
from sim.study.wording import named, number

RARER = "rarer causes"
_LOOKS = (
    (SKY, ""), (ORANGE, "/"), (VERMILION, "x"), (GREEN, "\\"), (YELLOW, "-"), (PURPLE, "."), (BLUE, "+"),
)  # fmt: skip


def days_by_cause(comparison: Comparison) -> pd.DataFrame:
    """Return mean bad days a year, a row a policy, a column a cause; causes rare in every policy together."""
    found = pd.DataFrame({item.policy: dict(item.causes) for item in comparison.summaries}).T.fillna(0.0)
    whole = found.sum(axis=1)
    told = [name for name in found if (found[name] > TOLD_SHARE * whole).any()]
    told = sorted(told, key=lambda name: -found[name].iloc[0])[: len(_LOOKS) - 1]
    rest = whole - found[told].sum(axis=1)
    return found[told].assign(**{RARER: rest.clip(lower=0.0)})


def answer_figure(comparison: Comparison, currency: str) -> go.Figure:
    """Return money, bad days by cause and hours of alarm of each policy, one above another."""
    titles = (f"cost, {currency} a year", "bad days a year, by cause", "hours of alarm a year")
    drawing = panels(titles, 0.12, one_x=False)
    names = [item.policy for item in comparison.summaries]
    causes = days_by_cause(comparison)
    bars = {
        1: [("cost", [item.cost.estimate for item in comparison.summaries], (BLUE, ""))],
        2: [
            (str(name), causes[name].tolist(), look)
            for name, look in zip(causes.columns, _LOOKS, strict=False)
        ],
        3: [("hours of alarm", [item.alarm_h.estimate for item in comparison.summaries], (ORANGE, ""))],
    }
    for row, parts in bars.items():
        for label, values, (colour, pattern) in parts:
            drawing.add(
                "bar", row, y=names, x=values, name=label, orientation="h", showlegend=row == 2,
                marker={
                    "color": colour, "line": {"color": INK, "width": 1},
                    "pattern": {"shape": pattern, "fgcolor": HATCH, "fillmode": "overlay", "size": 7},
                },
                hovertemplate=f"%{{y}}: {label} %{{x:,.3~g}}<extra></extra>",
            )  # fmt: skip
        totals = pd.DataFrame([values for _, values, _ in parts]).sum()
        edge = edge_of(list(totals))
        if edge is not None:
            drawing.axes("x", row, range=[0.0, edge])
            drawing.layout["annotations"][row - 1]["text"] += f"<br>(→ {BEYOND})"
        for name, total in zip(names, totals, strict=True):
            beyond = edge is not None and total > edge
            drawing.note(
                row, x=edge if beyond else total, y=name, text=f"{number(total)}{' →' if beyond else ''}",
                xanchor="left", xshift=4,
            )  # fmt: skip
    drawing.lay(barmode="stack", legend={"traceorder": "normal"})
    narrowed(dressed(drawing, 260 + 110 * len(names), reverse_y=True), names)
    drawing.lay(margin={"t": 40})
    drawing.axes("x", tickformat=",")
    return drawing.figure()


def answer_alt(comparison: Comparison, currency: str) -> str:
    """Return what the figure says."""
    said = [
        f"{named(item.policy)}: {number(item.cost.estimate)} {currency}, "
        f"{number(item.days_below_target.estimate)} bad days, {number(item.alarm_h.estimate)} hours of alarm"
        for item in comparison.summaries
    ]
    return f"A year. {'; '.join(said)}."


def answer_table(comparison: Comparison, currency: str) -> pd.DataFrame:
    """Return the numbers of the figure."""
    about = pd.DataFrame(
        {
            "policy": [item.policy for item in comparison.summaries],
            "standing": [item.standing for item in comparison.summaries],
            f"cost, {currency}": [item.cost.estimate for item in comparison.summaries],
            "hours of alarm": [item.alarm_h.estimate for item in comparison.summaries],
            "water off, h": [item.water_off_h.estimate for item in comparison.summaries],
        }
    )
    return pd.concat([about, days_by_cause(comparison).reset_index(drop=True)], axis=1)
