"""The figures of a comparison, each with what it says in words and the table under it."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pandas as pd
import plotly.graph_objects as go

from sim.report.figures.cost_figure import cost_means, cost_stack, cost_stack_alt
from sim.report.figures.front_figure import front, front_alt, front_table
from sim.report.figures.interval_figure import DAYS, OFF, UNSAFE, Measure, span_alt, span_figure, span_table
from sim.report.figures.style import narrowed
from sim.scenario.care import Goals
from sim.study.compare.comparison import Comparison

__all__ = ["Plate", "comparison_plates", "cost_means", "readable"]


@dataclass(frozen=True)
class Plate:
    """A figure as people see it.

    Attributes
    ----------
    name : str
        Of files, keys and elements.
    title : str
        What stands above it.
    alt : str
        What it says, in words.
    figure : Figure
        The picture.
    table : DataFrame
        Its numbers, in full.
    note : str
        What is to be known beside it.
    shows_dose : bool
        Whether the caution belongs to it.
    """

    name: str
    title: str
    alt: str
    figure: go.Figure
    table: pd.DataFrame
    note: str = ""
    shows_dose: bool = False


def comparison_plates(rows: pd.DataFrame, comparison: Comparison, goals: Goals, currency: str) -> list[Plate]:
    """Return the figures of a comparison."""
    names = [item.policy for item in comparison.summaries]
    off = f"Held to at most {goals.limit_water_off_h:g} h a year before costs are compared."
    unsafe = "Hours with water on while the lamp was dark, the alarm on or a draw below the target."
    return [
        _span(comparison, DAYS, goals.limit_days_below_target),
        _span(comparison, OFF, goals.limit_water_off_h, off),
        _span(comparison, UNSAFE, None, unsafe),
        Plate(
            "cost", "What it costs a year", cost_stack_alt(rows, currency),
            narrowed(cost_stack(rows, currency), names),
            cost_means(rows).loc[names].rename_axis("policy").reset_index(),
            f"Means, {currency} a year.",
        ),
        Plate(
            "front", "Cost against days below the dose target", front_alt(comparison, currency),
            front(comparison, currency), front_table(comparison, currency),
            "Letters are those of the table; thin bars are the intervals, cut off at the edge.",
            shows_dose=True,
        ),
    ]  # fmt: skip


def _span(comparison: Comparison, measure: Measure, limit: float | None, note: str = "") -> Plate:
    names = [item.policy for item in comparison.summaries]
    percent = f"Dots are means, bars their intervals at {100 * comparison.confidence:g} %."
    return Plate(
        measure.name,
        measure.title,
        span_alt(comparison, measure, limit),
        narrowed(span_figure(comparison, measure, limit), names),
        span_table(comparison, measure, limit),
        f"{percent} {note}".strip(),
        shows_dose=measure is not OFF,
    )


def readable(table: pd.DataFrame) -> pd.DataFrame:
    """Return a table with its numbers as short as they mean something; whole digits are all kept."""

    def short(value: Any) -> Any:
        if not isinstance(value, float) or not math.isfinite(value) or value == 0:
            return value
        return round(value, max(0, 2 - math.floor(math.log10(abs(value)))))

    shorten: Callable[[Any], Any] = short
    return table.map(shorten)
