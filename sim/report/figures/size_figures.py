"""Figures of a search over sizes: the front of cost against days below the dose target."""

import plotly.graph_objects as go

from sim.report.figures.drawing import Drawing
from sim.report.figures.front_figure import cost_against_days, limit_line
from sim.report.figures.style import BLUE, GREEN, INK, VERMILION
from sim.study.search.search import CHOSEN, DEARER, OVER, TIE, UNSHOWN
from sim.study.size.sizes import SizeStudy
from sim.study.wording import number

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
    drawing = Drawing()
    line = study.lines.iloc[list(study.front)]
    drawing.add(
        "scatter", x=list(line["cost"]), y=list(line["days_below_target"]), mode="lines",
        hoverinfo="skip", name="front", line={"dash": "dash", "color": INK, "width": 1.5},
    )  # fmt: skip
    for fate, (symbol, colour, size) in _MARKS.items():
        shown = study.lines[study.lines["fate"] == fate]
        if shown.empty:
            continue
        drawing.add(
            "scatter", x=list(shown["cost"]), y=list(shown["days_below_target"]), mode="markers", name=fate,
            customdata=list(shown.index), text=[
                f"{line['design']} ({line['policy']})<br>{number(line['cost'])} {currency}, "
                f"{number(line['days_below_target'])} days a year" for _, line in shown.iterrows()
            ],
            marker={"symbol": symbol, "color": colour, "size": size, "line": {"width": 1, "color": INK}},
            hovertemplate="%{text}<extra></extra>",
            cliponaxis=False,
        )  # fmt: skip
    limit_line(drawing, study.found.limits.days_below_target, "top")
    drawing.axes("y", rangemode="tozero")
    drawing.axes("x", tickangle=0)
    drawing.lay(clickmode="event+select")
    return cost_against_days(drawing, 460, "cost with equipment", currency)


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
