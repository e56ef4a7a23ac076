"""Figures: a frame goes in, a plotly figure comes out; `..._alt` says in words what a figure shows.

Colours are those of Okabe & Ito (2008, "Color universal design", from memory); a dash, a pattern or a label
beside each trace says the same again, so that nothing is lost in greyscale.
"""

from collections.abc import Sequence
from html import escape
from textwrap import wrap

import numpy as np
import pandas as pd
import plotly.graph_objects as go

from sim.study.answer import from_to, three_digits
from sim.study.comparison import Comparison

BLACK, ORANGE, SKY, GREEN = "#000000", "#E69F00", "#56B4E9", "#009E73"
YELLOW, BLUE, VERMILION, PURPLE = "#F0E442", "#0072B2", "#D55E00", "#CC79A7"
COLOURS = (BLUE, ORANGE, GREEN, PURPLE, SKY, VERMILION, YELLOW)
DASHES = ("solid", "dash", "dot", "dashdot", "longdash", "longdashdot")
SYMBOLS = ("circle", "square", "diamond", "triangle-up", "x", "star", "cross")
MOST_POINTS = 4000
COST_ITEMS = {  # column of a row, what people read, colour, pattern
    "cost_parts": ("parts", BLUE, ""),
    "cost_part_life": ("wear of parts in use", SKY, "."),
    "cost_labour": ("labour", ORANGE, "/"),
    "cost_callouts": ("call-outs", VERMILION, "x"),
    "cost_energy": ("energy", YELLOW, "-"),
    "cost_water": ("bought water", GREEN, "\\"),
}
FONT = {"family": "system-ui, sans-serif", "size": 14, "color": "#1a1a1a"}


def thinned(x: np.ndarray, y: np.ndarray, most: int = MOST_POINTS) -> tuple[np.ndarray, np.ndarray]:
    """Return fewer points that keep every peak: the least and the greatest of each stretch.

    Parameters
    ----------
    x : numpy.ndarray
        Positions, rising.
    y : numpy.ndarray
        Values; nan is a gap.
    most : int
        Most points wanted, >= 2.

    Returns
    -------
    tuple of numpy.ndarray
        Positions and values, as they are when few enough.
    """
    if len(x) <= most:
        return x, y
    kept: list[int] = []
    for part in np.array_split(np.arange(len(x)), most // 2):
        values = y[part]
        if np.isnan(values).all():
            kept.append(int(part[0]))
            continue
        kept += sorted({int(part[np.nanargmin(values)]), int(part[np.nanargmax(values)])})
    return x[kept], y[kept]


def cost_means(rows: pd.DataFrame) -> pd.DataFrame:
    """Return the mean yearly cost of each policy by item.

    Parameters
    ----------
    rows : DataFrame
        One row per policy and replication.

    Returns
    -------
    DataFrame
        Policies in the order they first appear; columns are the items people read, and "all" [money/year].
    """
    means = rows.groupby("policy", sort=False)[[*COST_ITEMS, "cost"]].mean()
    return means.rename(columns={name: item[0] for name, item in COST_ITEMS.items()} | {"cost": "all"})


def cost_stack(rows: pd.DataFrame, currency: str) -> go.Figure:
    """Return the mean yearly cost of each policy, stacked by item.

    Parameters
    ----------
    rows : DataFrame
        One row per policy and replication.
    currency : str
        Name of the money.

    Returns
    -------
    Figure
        Lying bars, the total written at their end.
    """
    means = cost_means(rows)
    figure = go.Figure()
    for label, colour, pattern in COST_ITEMS.values():
        figure.add_bar(
            y=means.index,
            x=means[label],
            name=label,
            orientation="h",
            marker={
                "color": colour,
                "line": {"color": "#1a1a1a", "width": 1},
                "pattern": {"shape": pattern, "fgcolor": "#1a1a1a", "fillmode": "overlay", "size": 7},
            },
            hovertemplate=f"%{{y}}: {label} %{{x:,.0f}} {currency} a year<extra></extra>",
        )
    for policy, total in means["all"].items():
        figure.add_annotation(
            x=total, y=policy, text=three_digits(total), xanchor="left", xshift=6, showarrow=False
        )
    figure.update_layout(barmode="stack", xaxis_title=f"cost, {currency} a year", legend_traceorder="normal")
    return dressed(figure, 150 + 46 * len(means), reverse_y=True)


def cost_stack_alt(rows: pd.DataFrame, currency: str) -> str:
    """Return what the cost figure shows.

    Parameters
    ----------
    rows : DataFrame
        One row per policy and replication.
    currency : str
        Name of the money.

    Returns
    -------
    str
        A sentence or two.
    """
    means = cost_means(rows)
    order = means["all"].sort_values(kind="stable")
    items = means.loc[order.index[0]].drop("all")
    first = f"{order.index[0]} has the least mean cost, {three_digits(order.iloc[0])} {currency} a year"
    if len(order) > 1:
        first += f"; {order.index[-1]} the greatest, {three_digits(order.iloc[-1])}"
    return f"{first}. The largest item of {order.index[0]} is {items.idxmax()}, {three_digits(items.max())}."


def days_below_target(comparison: Comparison) -> go.Figure:
    """Return the mean days below the dose target of each policy with their interval, and the limit.

    Parameters
    ----------
    comparison : Comparison
        What the runs say.

    Returns
    -------
    Figure
        A dot and a bar for each policy; the limit is a dashed line.
    """
    found = [(item.policy, item.days_below_target, item.within_limit) for item in comparison.summaries]
    figure = go.Figure()
    for within, label, symbol, colour in (
        (True, "within the limit", "circle", BLUE),
        (False, "not shown to be within it", "diamond-open", VERMILION),
    ):
        shown = [(name, days) for name, days, inside in found if inside is within]
        if not shown:
            continue
        x = np.array([days.estimate for _, days in shown])
        figure.add_scatter(
            x=x,
            y=[name for name, _ in shown],
            mode="markers",
            name=label,
            text=[from_to(days) for _, days in shown],
            marker={"symbol": symbol, "size": 12, "color": colour, "line": {"width": 2, "color": colour}},
            error_x={
                "type": "data",
                "symmetric": False,
                "array": [max(0.0, days.high - days.estimate) if days.known else 0.0 for _, days in shown],
                "arrayminus": [
                    max(0.0, days.estimate - days.low) if days.known else 0.0 for _, days in shown
                ],
                "color": colour,
                "thickness": 2,
            },
            hovertemplate="%{y}: %{text} days a year<extra></extra>",
            cliponaxis=False,
        )
    for name, days, _ in found:
        end = days.high if days.known else days.estimate
        figure.add_annotation(x=end, y=name, text=from_to(days), xanchor="left", xshift=10, showarrow=False)
    limit = comparison.limit_days_below_target
    figure.add_vline(x=limit, line={"dash": "dash", "color": BLACK, "width": 2})
    figure.add_annotation(
        x=limit, y=1, yref="paper", yanchor="bottom", text=f"limit {limit:g}", showarrow=False
    )
    figure.update_layout(xaxis_title="days below the dose target a year", xaxis_rangemode="tozero")
    figure.update_yaxes(categoryorder="array", categoryarray=[name for name, _, _ in found])
    return dressed(figure, 170 + 58 * len(found), reverse_y=True)


def days_below_target_alt(comparison: Comparison) -> str:
    """Return what the figure of days below the dose target shows.

    Parameters
    ----------
    comparison : Comparison
        What the runs say.

    Returns
    -------
    str
        A sentence for each policy.
    """
    limit = f"the limit of {comparison.limit_days_below_target:g} days a year"
    said = [
        f"{item.policy}: {from_to(item.days_below_target)} days a year below the dose target, "
        f"{'within' if item.within_limit else 'not shown to be within'} {limit}."
        for item in comparison.summaries
    ]
    return " ".join(said)


def dressed(figure: go.Figure, height: int, reverse_y: bool = False, showlegend: bool = True) -> go.Figure:
    """Return a figure with the look all figures share.

    Parameters
    ----------
    figure : Figure
        Changed in place.
    height : int
        Height [px].
    reverse_y : bool
        Whether the first row stands on top.
    showlegend : bool
        Whether it has a legend.

    Returns
    -------
    Figure
        The same figure.
    """
    figure.update_layout(
        template="plotly_white",
        font=FONT,
        height=height,
        margin={"l": 10, "r": 90, "t": 50, "b": 50},
        showlegend=showlegend,
        legend={"orientation": "h", "y": -0.25, "yanchor": "top"},
        paper_bgcolor="#ffffff",
    )
    figure.update_yaxes(automargin=True)
    figure.update_xaxes(automargin=True)
    if reverse_y:
        figure.update_yaxes(autorange="reversed")
    return figure


def front(comparison: Comparison, currency: str) -> go.Figure:
    """Return the mean cost of each policy against its days below the dose target.

    Parameters
    ----------
    comparison : Comparison
        What the runs say.
    currency : str
        Name of the money.

    Returns
    -------
    Figure
        A mark a policy; a dashed line joins those that no other beats in both.
    """
    found = comparison.summaries
    figure = go.Figure()
    best = sorted(
        (item for item in found if item.policy in unbeaten(comparison)), key=lambda item: item.cost.estimate
    )
    figure.add_scatter(
        x=[item.cost.estimate for item in best],
        y=[item.days_below_target.estimate for item in best],
        mode="lines", line={"dash": "dash", "color": BLACK, "width": 1.5}, hoverinfo="skip",
        name="no other is better in both",
    )  # fmt: skip
    for at, item in enumerate(found):
        figure.add_scatter(
            x=[item.cost.estimate], y=[item.days_below_target.estimate], mode="markers", name=item.policy,
            marker={"symbol": SYMBOLS[at % len(SYMBOLS)], "size": 13, "color": COLOURS[at % len(COLOURS)],
                    "line": {"width": 1, "color": BLACK}},
            hovertemplate=f"%{{x:,.0f}} {currency}, %{{y:.3g}} days a year<extra></extra>", cliponaxis=False,
        )  # fmt: skip
    figure.add_hline(y=comparison.limit_days_below_target, line={"dash": "dot", "color": BLACK, "width": 2})
    figure.update_layout(
        xaxis_title=f"cost, {currency} a year", yaxis_title="days below the dose target a year",
        xaxis_rangemode="tozero", yaxis_rangemode="tozero",
    )  # fmt: skip
    return dressed(figure, 460)


def unbeaten(comparison: Comparison) -> list[str]:
    """Return the policies that no other beats both in mean cost and in mean days below the dose target.

    Parameters
    ----------
    comparison : Comparison
        What the runs say.

    Returns
    -------
    list of str
        Names, in the order of the policies.
    """
    means = [(i.policy, i.cost.estimate, i.days_below_target.estimate) for i in comparison.summaries]
    return [
        name
        for name, cost, days in means
        if not any(c <= cost and d <= days and (c, d) != (cost, days) for _, c, d in means)
    ]


def narrowed(figure: go.Figure, names: Sequence[str]) -> go.Figure:
    """Return a figure of policies that can be read on the width of a phone.

    Parameters
    ----------
    figure : Figure
        Lying bars or dots, a row a policy; changed in place.
    names : sequence of str
        Names of the policies.

    Returns
    -------
    Figure
        The same figure: names broken into lines, the legend below everything else.
    """
    broken = ["<br>".join(escape(line) for line in wrap(name, 14)) for name in names]
    figure.update_yaxes(tickmode="array", tickvals=list(names), ticktext=broken, tickfont_size=13)
    figure.update_yaxes(ticks="outside", ticklen=9, tickcolor="rgba(0,0,0,0)")  # room beside a mark at 0
    figure.update_xaxes(nticks=6, tickangle=0, title_font_size=13)
    figure.update_layout(
        height=figure.layout.height + 110,
        margin={"b": 130},
        legend={"yref": "container", "y": 0.0, "yanchor": "bottom", "font": {"size": 12}},
    )
    return figure
