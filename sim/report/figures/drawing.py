"""What a figure is made of, as plain data, until all of it is said.

Each of the library's own calls that change a figure makes and checks much of it anew, a tenth of a second a
figure; what is handed over as a whole it checks once.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

import plotly.graph_objects as go

Axis = Literal["x", "y"]
_TITLE = {"showarrow": False, "xref": "paper", "yref": "paper", "yanchor": "bottom", "font": {"size": 13}}


def _empty() -> dict[str, Any]:
    return {"annotations": [], "shapes": [], "xaxis": {}, "yaxis": {}}


@dataclass
class Drawing:
    """A figure of one panel, or of panels one above another."""

    traces: list[dict[str, Any]] = field(default_factory=list)
    layout: dict[str, Any] = field(default_factory=_empty)
    rows: int = 1  # panels

    def add(self, kind: str, row: int = 1, **trace: Any) -> None:
        """Add a trace to a panel."""
        self.traces.append({"type": kind, "xaxis": axis("x", row), "yaxis": axis("y", row), **trace})

    def note(self, row: int = 1, **note: Any) -> None:
        """Add words to a panel, without an arrow."""
        at = {"xref": axis("x", row), "yref": axis("y", row), "showarrow": False}
        self.layout["annotations"].append(at | note)

    def level(self, y: float, line: Mapping[str, Any], row: int = 1) -> None:
        """Add a line across the whole width of a panel."""
        ends = {
            "x0": 0,
            "x1": 1,
            "xref": f"{axis('x', row)} domain",
            "y0": y,
            "y1": y,
            "yref": axis("y", row),
        }
        self.layout["shapes"].append({"type": "line", "line": line, **ends})

    def strip(self, x0: Any, x1: Any, **look: Any) -> None:
        """Add a strip, or where both ends are one a line, down the whole height of every panel."""
        kind = "line" if x0 == x1 else "rect"
        for row in range(1, self.rows + 1):
            ends = {"y0": 0, "y1": 1, "yref": f"{axis('y', row)} domain", "xref": axis("x", row)}
            self.layout["shapes"].append({"type": kind, "x0": x0, "x1": x1, **ends, **look})

    def axes(self, which: Axis, row: int | None = None, **keys: Any) -> None:
        """Say something of the axes across or upward, of one panel or of all."""
        for each in range(1, self.rows + 1) if row is None else (row,):
            _merge(self.layout[_key(which, each)], keys)

    def lay(self, **keys: Any) -> None:
        """Say something of the layout."""
        _merge(self.layout, keys)

    def figure(self) -> go.Figure:
        """Return the figure, every word of it checked by the library."""
        return go.Figure({"data": self.traces, "layout": self.layout})


def panels(
    titles: Sequence[str], gap: float, heights: Sequence[float] | None = None, one_x: bool = True
) -> Drawing:
    """Return an empty drawing of panels, the first on top.

    Parameters
    ----------
    titles : sequence of str
        Of each panel; one with brackets is broken before them, as it would not fit a phone.
    gap : float
        Room between two panels [fraction of the whole height].
    heights : sequence of float
        Of each panel, as shares of each other; the same for all without it.
    one_x : bool
        Whether all panels share the lowest one's axis.
    """
    drawing = Drawing(rows=len(titles))
    shares = list(heights or [1.0] * len(titles))
    unit = (1.0 - gap * (len(titles) - 1)) / sum(shares)
    top = 1.0
    for row, (title, share) in enumerate(zip(titles, shares, strict=True), 1):
        foot = max(0.0, top - unit * share)
        drawing.layout[_key("x", row)] = {"anchor": axis("y", row), "domain": [0.0, 1.0]}
        drawing.layout[_key("y", row)] = {"anchor": axis("x", row), "domain": [foot, top]}
        if one_x and row < len(titles):
            drawing.axes("x", row, matches=axis("x", len(titles)), showticklabels=False)
        left = {"text": title.replace(" (", "<br>("), "x": 0.0, "xanchor": "left", "align": "left", "y": top}
        drawing.layout["annotations"].append(_TITLE | left)
        top = foot - gap
    return drawing


def axis(which: Axis, row: int) -> str:
    """Return what traces, notes and shapes call an axis of a panel."""
    return which if row == 1 else f"{which}{row}"


def _key(which: Axis, row: int) -> str:
    return axis(which, row).replace(which, f"{which}axis")


def _merge(into: dict[str, Any], more: Mapping[str, Any]) -> None:
    """Write keys into a tree of them, leaving what they do not name."""
    for key, value in more.items():
        if isinstance(value, Mapping):
            into[key] = dict(into.get(key, {}))  # what is shared by figures stays as it is
            _merge(into[key], value)
        else:
            into[key] = value
