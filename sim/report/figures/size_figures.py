"""Figures of a search over sizes: the front of cost against days below the dose target."""

import plotly.graph_objects as go

from sim.report.figures.style import BLUE, GREEN, INK, VERMILION, dressed, legend_below
from sim.study.search.search import CHOSEN, DEARER, OVER, TIE, UNSHOWN
from sim.study.size.sizes import SizeStudy
from sim.study.wording import given, number

_TOLD = (
    *("cost", "cost_equipment", "days_below_target", "water_off_h", "cistern_empty_days"),
    *("short_runs", "pump_starts"),
)
_MARKS = {  # fate, symbol, colour, size
    CHOSEN: ("star", VERMILION, 17),
    TIE: ("diamond", GREEN, 11),
    DEARER: ("circle", BLUE, 9),
    UNSHOWN: ("square-open", INK, 9),
    OVER: ("x", INK, 9),
}


def sizes_front(study: SizeStudy, currency: str) -> go.Figure:
    """Return the mean cost of each design against its days below the dose target."""
    figure = go.Figure()
    line = study.lines.iloc[list(study.front)]
    figure.add_scatter(
        x=line["cost"], y=line["days_below_target"], mode="lines", hoverinfo="skip", name="front",
        line={"dash": "dash", "color": INK, "width": 1.5},
    )  # fmt: skip
    for fate, (symbol, colour, size) in _MARKS.items():
        shown = study.lines[study.lines["fate"] == fate]
        if shown.empty:
            continue
        figure.add_scatter(
            x=shown["cost"], y=shown["days_below_target"], mode="markers", name=fate,
            customdata=list(shown.index), text=[
                f"{line['design']} ({line['policy']})<br>{number(line['cost'])} {currency}, "
                f"{number(line['days_below_target'])} days a year" for _, line in shown.iterrows()
            ],
            marker={"symbol": symbol, "color": colour, "size": size, "line": {"width": 1, "color": INK}},
            hovertemplate="%{text}<extra></extra>",
            cliponaxis=False,
        )  # fmt: skip
    limit = study.found.limits.days_below_target
    figure.add_hline(y=limit, line={"dash": "dot", "color": INK, "width": 2})
    figure.add_annotation(
        x=1,
        xref="paper",
        xanchor="right",
        y=limit,
        yanchor="top",
        text=f"limit {given(limit)}",
        showarrow=False,
    )
    figure.update_layout(
        xaxis_title=f"cost with equipment, {currency} a year", xaxis_tickformat=",",
        yaxis_title="days below the dose target a year", yaxis_rangemode="tozero",
    )  # fmt: skip
    dressed(figure, 460)
    figure.update_xaxes(nticks=6, tickangle=0, title_font_size=13)
    figure.update_yaxes(title_font_size=13)
    figure.update_layout(clickmode="event+select", legend_orientation="v", margin={"r": 20, "t": 14})
    return legend_below(figure)


def sizes_front_alt(study: SizeStudy, currency: str) -> str:
    """Return what the figure shows."""
    said = []
    for at in study.front:
        line = study.lines.iloc[at]
        said.append(
            f"{line['design']} ({line['policy']}): {number(line['cost'])} {currency}, "
            f"{number(line['days_below_target'])} days"
        )
    return (
        f"Front, where no other of the {len(study.lines)} is better in both cost and days below the dose "
        f"target, a year: {'; '.join(said)}. The dotted line is the limit."
    )


def design_words(study: SizeStudy, at: int, currency: str) -> str:
    """Return a design in words."""
    line = study.lines.iloc[at]
    fate = {CHOSEN: "the choice"}.get(line["fate"], line["fate"])
    cost, equipment, days, off, dry, short, starts = (number(float(line[name])) for name in _TOLD)
    return (
        f"{line['design']}, looked after {line['policy']}: {fate}. It costs {cost} {currency} a year, "
        f"{equipment} of it equipment, with {days} days below the dose target, {off} water-off hours and "
        f"{dry} dry days a year; the cartridge that lasts least lasts {number(line['cartridge_days'])} days; "
        f"{short} of {starts} pump runs are under a minute. "
        f"Means of {line['runs']} runs."
    )
