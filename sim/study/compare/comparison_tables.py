"""A comparison as tables: one row a policy, and one a difference to the reference."""

from dataclasses import fields

import pandas as pd

from sim.study.compare.comparison import Comparison, Difference, PolicySummary
from sim.study.statistics.intervals import Interval


def summary_frame(comparison: Comparison) -> pd.DataFrame:
    """Return one row per policy, reference first.

    Returns
    -------
    DataFrame
        The fields of `PolicySummary`, an interval as three columns (mean, `_low`, `_high`), and `standing`:
        "cheapest", "may be cheapest", "dearer" or "left out".
    """
    table = pd.DataFrame([_flat(summary) for summary in comparison.summaries])
    if all(summary.people_days is None for summary in comparison.summaries):
        table = table.drop(columns=["people_days", "people_share"])  # the rows do not say
    if table["pump_water_off_h"].isna().all():
        table = table.drop(columns=["pump_failures_per_year", "pump_water_off_h"])
    standing = [_standing(summary, comparison) for summary in comparison.summaries]
    table.insert(1, "standing", standing)
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


def _flat(item: PolicySummary | Difference) -> dict[str, object]:
    flat: dict[str, object] = {}
    for field in fields(item):
        value = getattr(item, field.name)
        if isinstance(value, Interval):
            flat |= {
                field.name: value.estimate,
                f"{field.name}_low": value.low,
                f"{field.name}_high": value.high,
            }
        else:
            flat[field.name] = value
    return flat


def _standing(summary: PolicySummary, comparison: Comparison) -> str:
    if not summary.eligible:
        return "left out"
    if summary.policy == comparison.best:
        return "cheapest"
    return "may be cheapest" if summary.policy in comparison.not_distinguishable else "dearer"
