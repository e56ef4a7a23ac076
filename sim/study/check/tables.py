"""The answer of a check as tables."""

from collections.abc import Sequence

import pandas as pd

from sim.study.check.criterion import Judged
from sim.study.check.design_flow import Peak
from sim.study.check.finding import Finding
from sim.units import Units, text

CRITERIA = ("criterion", "name", "state", "value", "wanted", "margin", "note", "formula", "source", "grade")

CRITERIA_HEADINGS = ("criterion", "state", "value", "wanted", "margin", "note")


def criteria_rows(found: Sequence[Judged]) -> list[list[str]]:
    """Return a row a line of the criteria, as reports have them."""
    return [
        [f"{one.rule.number} {one.label}", one.state, one.said, one.wanted, one.margin, one.note]
        for one in found
    ]


def criteria_frame(found: Sequence[Judged]) -> pd.DataFrame:
    """Return a row a line of the criteria."""
    rows = [
        (
            one.rule.number, one.label, one.state, one.said, one.wanted, one.margin, one.note,
            one.rule.formula, one.rule.source, one.rule.grade,
        )
        for one in found
    ]  # fmt: skip
    return pd.DataFrame(rows, columns=list(CRITERIA))


def peak_frame(peaks: Sequence[Peak], units: Units) -> pd.DataFrame:
    """Return a row a way to count the peak flow."""
    rows = [
        (one.name, "not known" if one.flow_m3_s is None else text(one.flow_m3_s, "flow", units), one.note)
        for one in peaks
    ]
    return pd.DataFrame(rows, columns=["peak flow", "value", "rests on"])


def figure_frame(found: Sequence[Finding]) -> pd.DataFrame:
    """Return a row a figure."""
    rows = [("look" if one.warning else "", one.label, one.value, one.note) for one in found]
    return pd.DataFrame(rows, columns=["mark", "figure", "value", "note"])
