"""The figures of a comparison, each with what it says in words and the table under it."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pandas as pd
import plotly.graph_objects as go

from sim.report.figures.answer_figure import answer_alt, answer_figure, answer_table
from sim.report.figures.cost_figure import cost_means, cost_stack, cost_stack_alt
from sim.report.figures.front_figure import front, front_alt, front_table
from sim.report.figures.interval_figure import ALARM, DAYS, OFF, Measure, span_alt, span_figure, span_table
from sim.scenario.care import Goals
from sim.study.compare.comparison import Comparison
from sim.study.wording import given, percent, rounded
from sim.units import SHOWN

__all__ = ["Plate", "comparison_plates", "cost_means", "readable"]
_DECIMALS = {one.unit: one.decimals for system in SHOWN.values() for one in system.values()}


@dataclass(frozen=True)
class Plate:
    """A figure as people see it."""

    name: str  # of files, keys and elements
    title: str  # what stands above it
    alt: str  # what it says, in words
    figure: go.Figure  # the picture
    table: pd.DataFrame  # its numbers, in full
    note: str = ""  # what is to be known beside it
    shows_dose: bool = False  # whether the caution belongs to it


def comparison_plates(
    rows: pd.DataFrame, comparison: Comparison, goals: Goals, currency: str
) -> Iterator[Plate]:
    """Return the figures of a comparison, each drawn when it is wanted."""
    names = [item.policy for item in comparison.summaries]
    off = f"Over {given(goals.limit_water_off_h)} h a year a policy is not compared on cost."
    alarm = "Hours in which the UV alarm sounded; most of them with the dose still on target."
    yield from _answer(comparison, currency)
    yield _span(comparison, DAYS, goals.limit_days_below_target)
    yield _span(comparison, OFF, goals.limit_water_off_h, off)
    yield _span(comparison, ALARM, goals.limit_alarm_h, alarm)
    yield Plate(
        "cost", "What it costs a year", cost_stack_alt(rows, currency),
        cost_stack(rows, currency),
        cost_means(rows).loc[names].rename_axis("policy").reset_index(),
        f"Means, {currency} a year.",
    )  # fmt: skip
    yield Plate(
        "front", "Cost against days below the dose target", front_alt(comparison, currency),
        front(comparison, currency), front_table(comparison, currency),
        "Letters are those of the table; thin bars are the bounds, cut off at the edge.",
        shows_dose=True,
    )  # fmt: skip


def _answer(comparison: Comparison, currency: str) -> list[Plate]:
    """Return the figure that stands beside the answer, where the rows say the causes."""
    if not any(item.causes for item in comparison.summaries):
        return []
    return [
        Plate(
            "answer", "Money, bad days and alarm", answer_alt(comparison, currency),
            answer_figure(comparison, currency), answer_table(comparison, currency),
            "Averages over a year; each bad day has one cause.", shows_dose=True,
        )
    ]  # fmt: skip


def _span(comparison: Comparison, measure: Measure, limit: float | None, note: str = "") -> Plate:
    bars = f"Dots are means, bars their bounds at {percent(comparison.confidence)} confidence."
    return Plate(
        measure.name,
        measure.title,
        span_alt(comparison, measure, limit),
        span_figure(comparison, measure, limit),
        span_table(comparison, measure, limit),
        f"{bars} {note}".strip(),
        shows_dose=measure is not OFF,
    )


def readable(table: pd.DataFrame) -> pd.DataFrame:
    """Return a table with the digits its numbers have in words; whole numbers are all kept.

    A heading that ends with a unit, such as "least dose, mJ/cm2", gives the decimals of that unit.
    """
    found = table.copy()
    for name in found.columns:
        decimals = _DECIMALS.get(str(name).rpartition(", ")[2])
        found[name] = [_short(value, decimals) for value in found[name]]
    return found


def _short(value: Any, decimals: int | None) -> Any:
    if not isinstance(value, float) or not math.isfinite(value):
        return value
    return rounded(value) if decimals is None else round(value, decimals) + 0.0
