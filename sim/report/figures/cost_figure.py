"""What each policy costs a year, by item."""

import pandas as pd
import plotly.graph_objects as go

from sim.report.figures.drawing import Drawing
from sim.report.figures.style import (
    BLUE,
    GREEN,
    HATCH,
    INK,
    ORANGE,
    SKY,
    VERMILION,
    YELLOW,
    dressed,
    narrowed,
)
from sim.study.wording import named, number

COST_ITEMS = {  # column of a row, what people read, colour, pattern
    "cost_parts": ("parts", BLUE, ""),
    "cost_part_life": ("wear of parts in use", SKY, "."),
    "cost_labour": ("labour", ORANGE, "/"),
    "cost_callouts": ("call-outs", VERMILION, "x"),
    "cost_energy": ("energy", YELLOW, "-"),
    "cost_water": ("bought water", GREEN, "\\"),
}


def cost_means(rows: pd.DataFrame) -> pd.DataFrame:
    """Return the mean yearly cost of each policy by item.

    Policies in the order they first appear; columns are the items people read, and "all" [money/year].
    """
    means = rows.groupby("policy", sort=False)[[*COST_ITEMS, "cost"]].mean()
    return means.rename(columns={name: item[0] for name, item in COST_ITEMS.items()} | {"cost": "all"})


def cost_stack(rows: pd.DataFrame, currency: str) -> go.Figure:
    """Return the mean yearly cost of each policy, stacked by item."""
    means = cost_means(rows)
    drawing = Drawing()
    for label, colour, pattern in COST_ITEMS.values():
        drawing.add(
            "bar",
            y=list(means.index),
            x=list(means[label]),
            name=label,
            orientation="h",
            marker={
                "color": colour,
                "line": {"color": INK, "width": 1},
                "pattern": {"shape": pattern, "fgcolor": HATCH, "fillmode": "overlay", "size": 7},
            },
            hovertemplate=f"%{{y}}: {label} %{{x:,.0f}} {currency} a year<extra></extra>",
        )
    for policy, total in means["all"].items():
        drawing.note(x=total, y=policy, text=number(total), xanchor="left", xshift=6)
    drawing.lay(barmode="stack", legend={"traceorder": "normal"})
    drawing.axes("x", title={"text": f"cost, {currency} a year"}, tickformat=",")
    return narrowed(dressed(drawing, 150 + 46 * len(means), reverse_y=True), list(means.index)).figure()


def cost_stack_alt(rows: pd.DataFrame, currency: str) -> str:
    """Return what the cost figure shows."""
    means = cost_means(rows)
    order = means["all"].sort_values(kind="stable")
    items = means.loc[order.index[0]].drop("all")
    least, most = named(str(order.index[0])), named(str(order.index[-1]))
    first = f"{least} has the least mean cost, {number(order.iloc[0])} {currency} a year"
    if len(order) > 1:
        first += f"; {most} the greatest, {number(order.iloc[-1])}"
    return f"{first}. The largest item of {least} is {items.idxmax()}, {number(items.max())}."
