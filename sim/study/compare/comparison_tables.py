"""A comparison as tables: one row a policy, to read or to keep, and one a difference to the reference."""

from collections.abc import Callable, Mapping
from dataclasses import fields

import pandas as pd

from sim.outcome.causes import DAYS, column
from sim.plant.cause import CAUSES
from sim.study.compare.comparison import Comparison
from sim.study.compare.differences import Difference
from sim.study.compare.policy_summary import PolicySummary
from sim.study.compare.standing import Standing
from sim.study.statistics.intervals import Interval
from sim.study.wording import from_to, number, plus_minus

Said = Callable[[Interval], str]


def _estimate(interval: Interval) -> str:
    return number(interval.estimate)


# Measure, what it is called where there is little room and where there is more, how it is said there.
# Without a brief name it is told only where there is room. One that `PolicySummary` does not have is a mean
# of the rows, without bounds.
MEASURES: tuple[tuple[str, str, str, Said, Said], ...] = (
    ("cost", "cost", "cost, {currency}", plus_minus, plus_minus),
    ("water_off_h", "water\noff h", "water off, h", _estimate, from_to),
    ("days_below_target", "bad\ndays", "days below the dose target", from_to, from_to),
    ("alarm_h", "alarm\nh", "hours of alarm", _estimate, _estimate),
    ("low_light_h", "no\nlight h", "hours without enough light", _estimate, _estimate),
    ("unmet_m3", "", "water asked for and not had, m3", _estimate, _estimate),
    ("silent_days", "silent\ndays", "silent days", _estimate, _estimate),
    ("visits", "visits", "visits", _estimate, _estimate),
    ("owner_h", "owner\nhours", "owner hours", _estimate, _estimate),
)
MAY_BE_UNTOLD = (
    "pump_failures_per_year",
    "pump_water_off_h",
    "low_light_h",
    "weak_taps_h",
    "not_had_m3",
    "over_uv_share",
)


def side_by_side(
    comparison: Comparison, rows: pd.DataFrame, currency: str, short: bool = False
) -> tuple[list[str], list[list[str]]]:
    """Return headings and a row of text for each policy, for a screen or for a page."""
    headings = [
        brief if short else full.format(currency=currency)
        for _, brief, full, *_ in MEASURES
        if brief or not short
    ]
    return ["policy", *headings], [
        _row(item, rows[rows["policy"] == item.policy], short) for item in comparison.summaries
    ]


def _row(item: PolicySummary, rows: pd.DataFrame, short: bool) -> list[str]:
    cells = [item.policy]
    for name, heading, _, brief, full in MEASURES:
        if short and not heading:
            continue
        found = getattr(item, name, None)
        if isinstance(found, Interval):
            cells.append((brief if short else full)(found))
        else:
            cells.append(number(float(rows[name].mean())) if name in rows else "")
    return cells


def summary_frame(comparison: Comparison) -> pd.DataFrame:
    """Return one row per policy, reference first.

    Returns
    -------
    DataFrame
        `standing` ("within", "over", "undecided" or "at the limit", of all limits at once), whether it is
        recommended, which policy has nothing less than it, and the fields of `PolicySummary`, an interval as
        three columns (mean, `_low`, `_high`), a standing as its state, days by cause as columns of the rows.
    """
    table = pd.DataFrame(
        [
            {
                "policy": item.policy,
                "standing": item.standing,
                "recommended": item.policy == comparison.best,
                "dominated_by": comparison.dominated.get(item.policy, ""),
                **_flat(item),
            }
            for item in comparison.summaries
        ]
    )
    if all(summary.people_days is None for summary in comparison.summaries):
        table = table.drop(columns=["people_days", "people_share"])  # the rows do not say
    untold = [name for name in MAY_BE_UNTOLD if table[name].isna().all()]
    table = table.drop(columns=untold)
    return table


def difference_frame(comparison: Comparison) -> pd.DataFrame:
    """Return one row per policy but the reference: differences to the reference, pair by pair.

    Returns
    -------
    DataFrame
        The fields of `Difference`, an interval as three columns (mean, `_low`, `_high`), and the confidence
        of each interval by itself. No rows when there is only the reference.
    """
    measures = [
        name + end for name in ("cost", "water_off_h", "days_below_target") for end in ("", "_low", "_high")
    ]
    return pd.DataFrame(
        [
            {**_flat(item), "reference": comparison.reference, "confidence_each": item.cost.confidence}
            for item in comparison.differences
        ],
        columns=[
            "policy",
            "reference",
            *measures,
            "cost_correlation",
            "cost_variance_ratio",
            "confidence_each",
        ],
    )


def flat(name: str, interval: Interval) -> dict[str, float]:
    """Return an interval as three columns."""
    return {name: interval.estimate, f"{name}_low": interval.low, f"{name}_high": interval.high}


def _flat(item: PolicySummary | Difference) -> dict[str, object]:
    columns: dict[str, object] = {}
    for field in fields(item):
        value = getattr(item, field.name)
        if isinstance(value, Interval):
            columns |= flat(field.name, value)
        elif isinstance(value, Standing):
            columns[field.name] = value.state
        elif isinstance(value, Mapping):
            columns |= {column(DAYS, code): value.get(name, 0.0) for code, name in enumerate(CAUSES) if value}
        else:
            columns[field.name] = value
    return columns
