"""The look of every figure, in light and in dark.

Colours are those of Okabe & Ito (2008, "Color universal design", from memory); a dash, a pattern or a label
beside each trace says the same again, so that nothing is lost in greyscale. A figure is made once, in light,
on no paper of its own; `scheme_css` turns its ink and its grid where the page is dark. Lines use only colours
that stand out from both papers; lighter ones fill what has an outline of ink.
"""

from collections.abc import Sequence
from html import escape
from textwrap import wrap
from typing import Any

import plotly.io as pio

from sim.report.figures.drawing import Drawing

ORANGE, SKY, GREEN, YELLOW = "#E69F00", "#56B4E9", "#009E73", "#F0E442"
BLUE, VERMILION, PURPLE = "#0072B2", "#D55E00", "#CC79A7"
INK, INK_DARK = "#1a1a1a", "#ececec"
GRID, GRID_DARK = "#d9dde1", "#3a4147"
HATCH = "#101010"  # of patterns, which lie on a colour and not on paper
LINES = (BLUE, VERMILION, GREEN, PURPLE, INK)
DASHES = ("solid", "dash", "dot", "dashdot", "longdash", "longdashdot")
SYMBOLS = ("circle", "square", "diamond", "triangle-up", "x", "star", "cross")
LIGHT_PAPER, DARK_PAPER = "#ffffff", "#16191c"  # of the pages, by their theme, and of the report
FONT = {"family": "system-ui, sans-serif", "size": 14, "color": INK}
CLEAR = "rgba(0,0,0,0)"
_AXIS: dict[str, Any] = {"gridcolor": GRID, "zerolinecolor": GRID, "linecolor": INK, "automargin": True}
_MORE = {"zerolinewidth": 2, "title": {"standoff": 15}}
_PATTERN = {"fillmode": "overlay", "size": 10, "solidity": 0.2}
_BAR = {"line": {"color": LIGHT_PAPER, "width": 0.5}, "pattern": _PATTERN}
# All that figures share and none of them changes, and nothing for kinds of figure that are not drawn: the
# library checks every word of a template once more for each figure that takes it.
_LOOK = {
    "layout": {
        "autotypenumbers": "strict", "hovermode": "closest", "hoverlabel": {"align": "left"},
        "xaxis": _MORE, "yaxis": _MORE,
    },
    "data": {"bar": [{"marker": _BAR}]},
}  # fmt: skip
pio.templates.default = "none"  # a figure would begin with the library's own, which takes long to read
PLOT = {"displaylogo": False, "plotlyServerURL": "", "responsive": True}  # nothing is fetched


def scheme_css() -> str:
    """Return the rules that turn ink and grid of figures where the page is dark."""
    rules = []
    for light, dark in ((INK, INK_DARK), (GRID, GRID_DARK)):
        red, green, blue = (int(light[i : i + 2], 16) for i in (1, 3, 5))
        for part in ("fill", "stroke"):
            chosen = f'.js-plotly-plot svg [style*="{part}: rgb({red}, {green}, {blue})"]'
            rules.append(f"{chosen} {{{part}: light-dark({light}, {dark}) !important;}}")
    return "\n".join([*rules, "@media (hover: none) {.modebar {display: none !important;}}"])


def dressed(drawing: Drawing, height: int, reverse_y: bool = False, showlegend: bool = True) -> Drawing:
    """Give a drawing the look all figures share, and return it."""
    drawing.lay(
        template=_LOOK,
        font=FONT,
        height=height,
        margin={"l": 10, "r": 70, "t": 40, "b": 50},
        showlegend=showlegend,
        legend={"orientation": "h", "y": -0.25, "yanchor": "top", "bgcolor": CLEAR},
        paper_bgcolor=CLEAR,
        plot_bgcolor=CLEAR,
        dragmode=False,  # a finger on a figure moves the page
        hoverlabel={"bgcolor": "#22272b", "bordercolor": "#22272b", "font": {"color": "#ffffff"}},
        modebar={"bgcolor": CLEAR, "color": "#6b7280", "activecolor": BLUE},
    )
    drawing.axes("y", **_AXIS)  # said here and not in the template: only then are lines and grid drawn
    drawing.axes("x", **_AXIS)
    if reverse_y:
        drawing.axes("y", autorange="reversed")
    return drawing


def narrowed(drawing: Drawing, names: Sequence[str]) -> Drawing:
    """Make a drawing of policies fit the width of a phone, and return it."""
    drawing.axes("y", tickmode="array", tickvals=list(names), ticktext=[broken(n) for n in names])
    drawing.axes("y", tickfont={"size": 13}, ticks="outside", ticklen=9, tickcolor=CLEAR)  # room beside a 0
    drawing.axes("x", nticks=5, tickangle=0, title={"font": {"size": 13}})
    drawing.lay(margin={"t": 14})
    return legend_below(drawing) if drawing.layout["showlegend"] else drawing


def legend_below(drawing: Drawing) -> Drawing:
    """Put the legend under the axis title, with room for one entry a line, and return the drawing."""
    entries = sum("name" in trace and trace.get("showlegend") is not False for trace in drawing.traces)
    height, margin = drawing.layout["height"], drawing.layout["margin"]
    plot = height - margin["t"] - margin["b"]
    room = 12 + 20 * entries
    drawing.lay(
        height=height + room,
        margin={"b": margin["b"] + room},
        legend={"y": -56 / plot, "yanchor": "top", "x": 0.0, "font": {"size": 12}},
    )
    return drawing


def broken(name: str, width: int = 14) -> str:
    """Return a name as plotly shows it as text, broken into short lines."""
    return "<br>".join(escape(line) for line in wrap(name, width))
