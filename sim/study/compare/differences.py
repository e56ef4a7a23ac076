"""Policies less the reference, pair by pair: cost, water-off hours and days below the dose target."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from sim.study.compare.measures import Sample, column_of, days_difference
from sim.study.statistics import intervals
from sim.study.statistics.intervals import Interval
from sim.study.statistics.stopped import stopped_interval


@dataclass(frozen=True)
class Difference:
    """A policy less the reference, pair by pair; below zero is less than the reference.

    Attributes
    ----------
    policy : str
        Name.
    cost : Interval
        Paired Student t, or `stopped_interval` where the spread settled the number of runs; Bonferroni over
        the policies [money/year].
    water_off_h, days_below_target : Interval
        Paired t without skewness, or gamma where few pairs differ; Bonferroni over the policies
        [h/year, d/year].
    cost_correlation : float
        Between the two costs across replications, measured; nan when either did not vary.
    cost_variance_ratio : float
        Variance of the paired cost difference over what independent runs would give; below 1 the shared
        weather paid, above 1 it hurt; nan when neither cost varied.
    """

    policy: str
    cost: Interval
    water_off_h: Interval
    days_below_target: Interval
    cost_correlation: float
    cost_variance_ratio: float


def differences(
    groups: Mapping[str, pd.DataFrame], reference: str, confidence: float, stopped: bool
) -> tuple[Difference, ...]:
    """Return the differences of all policies but the reference.

    Parameters
    ----------
    stopped : bool
        Whether the spread of the costs settled the number of runs.
    """
    paired = stopped_interval if stopped else intervals.paired_interval
    each = intervals.bonferroni(confidence, len(groups) - 1)
    base = groups[reference]
    return tuple(
        Difference(
            policy=name,
            cost=paired(group["cost"], base["cost"], each),
            water_off_h=intervals.paired_skewed_interval(group["water_off_h"], base["water_off_h"], each),
            days_below_target=days_difference(group, base, each),
            cost_correlation=_correlation(column_of(group, "cost"), column_of(base, "cost")),
            cost_variance_ratio=_variance_ratio(column_of(group, "cost"), column_of(base, "cost")),
        )
        for name, group in groups.items()
        if name != reference
    )


def _correlation(x: Sample, y: Sample) -> float:
    if x.size < 2 or np.ptp(x) == 0 or np.ptp(y) == 0:
        return math.nan
    return float(np.corrcoef(x, y)[0, 1])


def _variance_ratio(x: Sample, y: Sample) -> float:
    if x.size < 2 or (np.ptp(x) == 0 and np.ptp(y) == 0):
        return math.nan
    return float(np.var(intervals.differences(x, y)) / (np.var(x) + np.var(y)))
