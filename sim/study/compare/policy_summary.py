"""One policy by itself: means a year with their bounds, days by cause, and how it stands to the limits."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd

from sim.constants import YEAR_DAYS
from sim.outcome.causes import DAYS, PEOPLE, column
from sim.plant.cause import CAUSES
from sim.study.compare.measures import (
    DAYS_SEEN,
    alarm_interval,
    cause_interval,
    column_of,
    counted_days,
    days_by,
    days_interval,
    off_interval,
    off_parts,
)
from sim.study.compare.standing import Standing, State, joined
from sim.study.statistics import intervals
from sim.study.statistics.intervals import Interval
from sim.study.statistics.shares import share_interval


@dataclass(frozen=True)
class PolicySummary:
    """One policy by itself; rates are per year of the run.

    Attributes
    ----------
    policy : str
        Name.
    runs : int
        Replications used.
    cost : Interval
        Mean yearly cost, Student t [money/year].
    cost_median, cost_p90 : float
        Half and nine tenths of the runs cost no more [money/year].
    water_off_h, alarm_h : Interval
        Mean water-off hours, allowing for odd ones unseen, and alarm hours, t without skewness [h/year].
    days_below_target : Interval
        Mean days below the dose target, by `measures.counted_days`; t without skewness, or gamma where
        few runs had any [d/year].
    days_median, days_p90 : float
        Half and nine tenths of the runs had no more such days [d/year].
    runs_with_days : int
        Runs with any day below the dose target.
    share_with_days : Interval
        Their share, Clopper-Pearson [fraction].
    share_upper_bound : float
        One-sided exact upper bound of that share [fraction].
    least_dose_j_m2 : float
        Least dose of any run [J/m2]; nan when no run delivered water.
    low_light_h, weak_taps_h, not_had_m3 : float
        Mean hours without enough light, hours of weak taps, and water asked for and not had
        [h/year, h/year, m3/year]; nan where the rows do not say.
    by_days, by_off, by_alarm : Standing
        How the policy stands to the limits of days below the dose target, of water-off hours and of hours of
        alarm; a shut-off valve trades the first for the second.
    people_days : Interval or None
        Mean days below the dose target while something people missed, put off or did late touched the dose,
        by `measures.cause_interval` [d/year]; None where the rows do not say.
    people_share : Interval or None
        Their share of all days below the dose target [fraction]; nan where there are none.
    causes : mapping of str to float
        Mean days below the dose target by their cause [d/year]; empty where the rows do not say.
    pump_failures_per_year, pump_water_off_h : float
        Means of pump failures and of hours without water due to them [1/year, h/year]; nan where the rows do
        not say.
    over_uv_share : float
        Share of draws during which more was asked for than the UV unit is rated for [fraction]; nan where
        the rows do not say.
    unusable_from_month : float or None
        Month of the run in which the house is first out of use for want of water, in the middle one of its
        runs; None where fewer than half of them come to that, or the rows do not say.
    """

    policy: str
    runs: int
    cost: Interval
    cost_median: float
    cost_p90: float
    water_off_h: Interval
    alarm_h: Interval
    days_below_target: Interval
    days_median: float
    days_p90: float
    runs_with_days: int
    share_with_days: Interval
    share_upper_bound: float
    least_dose_j_m2: float
    by_days: Standing
    by_off: Standing
    by_alarm: Standing
    low_light_h: float = math.nan
    weak_taps_h: float = math.nan
    not_had_m3: float = math.nan
    people_days: Interval | None = None
    people_share: Interval | None = None
    causes: Mapping[str, float] = field(default_factory=dict)
    pump_failures_per_year: float = math.nan
    pump_water_off_h: float = math.nan
    over_uv_share: float = math.nan
    unusable_from_month: float | None = None

    @property
    def stands(self) -> tuple[Standing, Standing, Standing]:
        """How the policy stands to each limit."""
        return self.by_days, self.by_off, self.by_alarm

    @property
    def standing(self) -> State:
        """How the policy stands to all limits at once."""
        return joined([one.state for one in self.stands])


def summarised(
    policy: str, group: pd.DataFrame, stands: tuple[Standing, Standing, Standing], confidence: float
) -> PolicySummary:
    """Summarise the runs of one policy, and how it stands to the limits in the order of `stands`."""
    by_days, by_off, by_alarm = stands
    cost, days, seen = column_of(group, "cost"), counted_days(group), column_of(group, DAYS_SEEN)
    runs, affected = len(group), int(np.count_nonzero(seen > 0))
    share_bound = intervals.proportion_upper_bound(affected, runs, confidence)
    years = float(group["years"].min())
    return PolicySummary(
        policy=policy,
        runs=runs,
        cost=intervals.mean_interval(cost, confidence),
        cost_median=float(np.median(cost)),
        cost_p90=float(np.quantile(cost, 0.9)),
        water_off_h=off_interval(off_parts(group), years, confidence),
        alarm_h=alarm_interval(column_of(group, "alarm_h"), confidence),
        days_below_target=days_interval(days, years, confidence),
        days_median=float(np.median(seen)),
        days_p90=float(np.quantile(seen, 0.9)),
        runs_with_days=affected,
        share_with_days=intervals.proportion_interval(affected, runs, confidence),
        share_upper_bound=share_bound,
        least_dose_j_m2=float(group["least_dose_j_m2"].min()),
        by_days=by_days,
        by_off=by_off,
        by_alarm=by_alarm,
        low_light_h=_mean(group, "low_light_h"),
        weak_taps_h=_mean(group, "low_pressure_min") / 60.0,
        not_had_m3=_mean(group, "unmet_m3"),
        **_by_people(group, confidence),
        causes=_by_cause(group),
        pump_failures_per_year=_mean(group, "pump_failures"),
        pump_water_off_h=_mean(group, "pump_water_off_h"),
        over_uv_share=_mean(group, "over_uv_share"),
        unusable_from_month=_unusable_from_month(group),
    )


def _unusable_from_month(group: pd.DataFrame) -> float | None:
    if "unusable_from_day" not in group:
        return None
    first = group["unusable_from_day"].fillna(math.inf).median()
    return float(first // (YEAR_DAYS / 12.0)) + 1.0 if math.isfinite(first) else None


def _mean(group: pd.DataFrame, name: str) -> float:
    """Return the mean of a column, nan where the rows do not have it."""
    return float(group[name].mean()) if name in group else math.nan


def _by_people(group: pd.DataFrame, confidence: float) -> dict[str, Any]:
    """Return days that people caused and their share, where the rows say."""
    if column(DAYS, PEOPLE[0]) not in group:
        return {}
    told = [code for code in range(len(CAUSES)) if column(DAYS, code) in group]
    people = cause_interval(group, PEOPLE, confidence)
    rest = cause_interval(group, [code for code in told if code not in PEOPLE], confidence)
    return {"people_days": people, "people_share": share_interval(people, rest)}


def _by_cause(group: pd.DataFrame) -> dict[str, float]:
    """Return mean days of each cause, most first, where the rows say; causes without days are left out."""
    means = {
        name: float(days_by(group, code).mean())
        for code, name in enumerate(CAUSES)
        if column(DAYS, code) in group
    }
    return dict(sorted(((name, mean) for name, mean in means.items() if mean > 0), key=lambda one: -one[1]))
