"""Criteria that only runs make known, held against those of a comparison."""

from collections.abc import Sequence
from math import isnan

import pandas as pd

from sim.study.check.criterion import Judged, judge
from sim.study.compare.comparison import Comparison
from sim.units import Units


def with_runs(
    criteria: Sequence[Judged], comparison: Comparison, rows: pd.DataFrame, policy: str, units: Units
) -> tuple[Judged, ...]:
    """Return the criteria with what runs under one policy made known."""
    days = comparison.summary(policy).by_days
    high = days.interval.high if days.interval.known else None
    life_days = float(rows.loc[rows["policy"] == policy, "cartridge_days"].mean())
    limit, under = comparison.limit_days_below_target, f"in runs, looked after {policy}"
    known = {
        "days below target": judge("days below target", high, units, limit, note=f"upper 95 % bound {under}"),
        "cartridge life": judge(
            "cartridge life", None if isnan(life_days) else life_days, units, note=f"mean {under}"
        ),
    }
    return tuple(known.get(one.key, one) for one in criteria)
