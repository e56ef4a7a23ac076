"""Cost against days below the dose target: what no other policy beats in both."""

from html import escape

import pandas as pd
import plotly.graph_objects as go

from sim.report.figures.axis_range import FAR, edge_of, placed
from sim.report.figures.drawing import Drawing
from sim.report.figures.style import INK, LINES, SYMBOLS, dressed, legend_below
from sim.study.compare.comparison import Comparison
from sim.study.wording import given, named, number

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def front(comparison: Comparison, currency: str) -> go.Figure:
    """Return the mean cost of each policy against its days below the dose target.

    A mark with a letter for each policy, thin bars for its intervals; a dashed line joins those that no other
    beats in both.
    """
    drawing = Drawing()
    unbeaten_ones = unbeaten(comparison)
    best = sorted(
        (item for item in comparison.summaries if item.policy in unbeaten_ones),
        key=lambda item: item.cost.estimate,
    )
    drawing.add(
        "scatter", x=[item.cost.estimate for item in best],
        y=[min(item.days_below_target.estimate, _extent(comparison)[0]) for item in best],
        mode="lines", line={"dash": "dash", "color": INK, "width": 1.5}, hoverinfo="skip",
        name="no other is better in both",
    )  # fmt: skip
    top, most = _extent(comparison)
    sides = placed(
        [(i.cost.estimate / most, min(i.days_below_target.estimate, top) / top) for i in comparison.summaries]
    )
    for at, item in enumerate(comparison.summaries):
        colour, days = LINES[at % len(LINES)], item.days_below_target
        shown = min(days.estimate, top)
        up = [max(0.0, min(days.high, top) - shown) if days.known else 0.0]
        down = [max(0.0, shown - days.low) if days.known else 0.0]
        half = [item.cost.half_width if item.cost.known else 0.0]
        bar = {"type": "data", "color": colour, "thickness": 1.2, "width": 3}
        far = f" \u2191 {number(days.estimate)} days" if days.estimate > top else ""
        drawing.add(
            "scatter", x=[item.cost.estimate], y=[shown], mode="markers+text",
            name=escape(labelled(at, item.policy)), text=[LETTERS[at % len(LETTERS)] + far],
            textposition="bottom right" if far else sides[at], textfont={"size": 15},
            marker={"symbol": SYMBOLS[at % len(SYMBOLS)], "size": 12, "color": colour,
                    "line": {"width": 1, "color": INK}},
            error_x={**bar, "symmetric": False, "array": half,
                     "arrayminus": [min(half[0], item.cost.estimate)]},
            error_y={**bar, "symmetric": False, "array": up, "arrayminus": down},
            customdata=[[number(item.cost.estimate), number(days.estimate)]], cliponaxis=False,
            hovertemplate=f"%{{customdata[0]}} {currency}, %{{customdata[1]}} days a year<extra></extra>",
        )  # fmt: skip
    limit = comparison.limit_days_below_target
    if limit <= top:
        limit_line(drawing, limit, "bottom")
    drawing.axes("y", range=[0, 1.08 * top])
    return cost_against_days(drawing, 430, "cost", currency)


def limit_line(drawing: Drawing, limit: float, yanchor: str) -> None:
    """Draw the limit of days below the dose target, named at its right end."""
    drawing.level(limit, {"dash": "dot", "color": INK, "width": 2})
    drawing.note(x=1, xref="paper", xanchor="right", y=limit, yanchor=yanchor, text=f"limit {given(limit)}")


def cost_against_days(drawing: Drawing, height: int, cost: str, currency: str) -> go.Figure:
    """Return the figure of a drawing with a cost across and days below the dose target upward."""
    dressed(drawing, height)
    small = {"font": {"size": 13}}
    drawing.axes("x", title={"text": f"{cost}, {currency} a year", **small}, tickformat=",", nticks=6)
    drawing.axes("y", title={"text": "days below the dose target a year", **small})
    drawing.lay(margin={"r": 20, "t": 14}, legend={"orientation": "v"})
    return legend_below(drawing).figure()


def _extent(comparison: Comparison) -> tuple[float, float]:
    """Return the top of the figure, beyond which means are cut off [d/year], and its width [money/year]."""
    days = [item.days_below_target for item in comparison.summaries]
    edge = edge_of([one.estimate for one in days])
    inside = max(one.estimate for one in days) if edge is None else edge
    limit = comparison.limit_days_below_target
    top = max(inside, limit if limit <= FAR * inside else 0.0)
    whole = [one.high for one in days if one.known and one.high <= 2.0 * top]  # longer bars run off the top
    top = max([top, *whole]) or 1.0
    return top, max(1e-9, *(item.cost.estimate for item in comparison.summaries)) * 1.1


def front_alt(comparison: Comparison, currency: str) -> str:
    """Return what the figure of cost against days shows."""
    names = unbeaten(comparison)
    said = [
        f"{named(item.policy)} ({number(item.cost.estimate)} {currency}, "
        f"{number(item.days_below_target.estimate)} days)"
        for item in comparison.summaries
        if item.policy in names
    ]
    return f"No other way has both a lower mean cost and fewer days below the dose target: {', '.join(said)}."


def front_table(comparison: Comparison, currency: str) -> pd.DataFrame:
    """Return the numbers of the figure of cost against days."""
    names = unbeaten(comparison)
    return pd.DataFrame(
        [
            {
                "mark": LETTERS[at % len(LETTERS)],
                "policy": item.policy,
                f"cost, {currency}": item.cost.estimate,
                "cost low": item.cost.low if item.cost.known else float("nan"),
                "cost high": item.cost.high if item.cost.known else float("nan"),
                "days": item.days_below_target.estimate,
                "another is better in both": "no" if item.policy in names else "yes",
            }
            for at, item in enumerate(comparison.summaries)
        ]
    )


def labelled(at: int, policy: str) -> str:
    """Return what the legend calls a policy."""
    return f"{LETTERS[at % len(LETTERS)]}  {policy}"


def unbeaten(comparison: Comparison) -> list[str]:
    """Return the policies that no other beats in both mean cost and mean days below the dose target."""
    means = [(i.policy, i.cost.estimate, i.days_below_target.estimate) for i in comparison.summaries]
    return [
        name
        for name, cost, days in means
        if not any(c <= cost and d <= days and (c, d) != (cost, days) for _, c, d in means)
    ]
