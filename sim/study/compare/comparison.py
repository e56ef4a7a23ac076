"""Policies side by side: summaries, paired differences to a reference, the cheapest of those within a limit.

Days below the dose target come first: a policy whose upper bound of their yearly mean is over the limit is
out before cost is looked at. Only replications that every policy finished are used: all met the same weather.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from sim.errors import InputError
from sim.outcome.causes import DAYS, column
from sim.plant.cause import CAUSES
from sim.scenario.care import Goals
from sim.study.statistics import intervals
from sim.study.statistics.intervals import Interval
from sim.study.statistics.rare import is_rare, rare_difference, rare_interval
from sim.study.statistics.stopped import stopped_interval
from sim.study.statistics.year_bounds import days_of_year, hours_of_year
from sim.study.wording import counted, given, number

NEEDED = ("years", "cost", "water_off_h", "alarm_h", "days_below_target", "least_dose_j_m2")
BY_PEOPLE = "people_days_below_target"
UNSEEN_DAYS = 30.0  # of a run that has any: two weeks between readings, and two until it is mended [A]

_Sample = NDArray[np.float64]
_Paired = Callable[[ArrayLike, ArrayLike, float], Interval]


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
        Mean water-off and alarm hours, t without skewness [h/year].
    days_below_target : Interval
        Mean days below the dose target, t without skewness, or gamma where few runs had any [d/year].
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
    within_limit : bool
        Whether the upper bound of mean days below the dose target is within the limit.
    keeps_water_on : bool
        Whether mean water-off hours are within theirs; a shut-off valve trades one for the other.
    why : str
        The numbers behind `within_limit`, in words.
    people_days : Interval or None
        Mean days below the dose target while something people missed, put off or did late touched the dose,
        bounded as `days_below_target` [d/year]; None where the rows do not say.
    people_share : float
        Their share of all days below the dose target [fraction]; nan where there are none.
    causes : mapping of str to float
        Mean days below the dose target by their cause [d/year]; empty where the rows do not say.
    pump_failures_per_year, pump_water_off_h : float
        Means of pump failures and of hours without water due to them [1/year, h/year]; nan where the rows do
        not say.
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
    within_limit: bool
    keeps_water_on: bool
    why: str
    people_days: Interval | None = None
    people_share: float = math.nan
    causes: Mapping[str, float] = field(default_factory=dict)
    pump_failures_per_year: float = math.nan
    pump_water_off_h: float = math.nan

    @property
    def eligible(self) -> bool:
        """Whether the policy is in when costs are compared."""
        return self.within_limit and self.keeps_water_on


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


@dataclass(frozen=True)
class Comparison:
    """What the runs say about the policies.

    Attributes
    ----------
    reference : str
        Policy the others are compared with.
    confidence : float
        Confidence of each summary by itself, and of all differences together [fraction].
    limit_days_below_target : float
        Most mean days below the dose target that are accepted [d/year].
    runs : int
        Replications every policy finished.
    runs_left_out : int
        Replications that some policy did not finish.
    years : float
        Length of the shortest run [year].
    summaries : tuple of PolicySummary
        Reference first, the others in their order in the rows.
    differences : tuple of Difference
        All policies but the reference.
    gaps : mapping of str to Interval
        Yearly cost less the least of the others, for the policies within the limit when there are two
        or more; the best is among those with a lower bound not above zero, at `confidence`.
    best : str or None
        Cheapest within the limit.
    not_distinguishable : tuple of str
        Others within the limit that may be the cheapest as well, cheapest first.
    reason : str
        Why `best` is what it is, in words.
    """

    reference: str
    confidence: float
    limit_days_below_target: float
    runs: int
    runs_left_out: int
    years: float
    summaries: tuple[PolicySummary, ...]
    differences: tuple[Difference, ...]
    gaps: Mapping[str, Interval]
    best: str | None
    not_distinguishable: tuple[str, ...]
    reason: str

    def summary(self, policy: str) -> PolicySummary:
        """Return the summary of one policy."""
        return next(summary for summary in self.summaries if summary.policy == policy)


def compare(
    rows: pd.DataFrame,
    reference: str,
    limit_days_below_target: float,
    confidence: float = 0.95,
    limit_water_off_h: float = math.inf,
    stopped: bool = False,
) -> Comparison:
    """Compare policies that met the same weather, draws and failures.

    Parameters
    ----------
    limit_days_below_target : float
        Most mean days below the dose target that are accepted [d/year, at least 0; no runs can show 0].
    confidence : float
        Confidence [fraction, between 0 and 1].

    Raises
    ------
    InputError
        When the rows, the reference or the limit cannot be used.
    """
    if not limit_days_below_target >= 0:
        raise InputError(
            f"limit of days below target is {limit_days_below_target:g}; wanted 0 or more a year"
        )
    complete, left_out = _complete(rows, reference)
    names = [name for name in dict.fromkeys(rows["policy"]) if name != reference]
    groups = {name: complete[complete["policy"] == name] for name in (reference, *names)}
    summaries = tuple(
        _summary(name, group, limit_days_below_target, limit_water_off_h, confidence)
        for name, group in groups.items()
    )
    paired = stopped_interval if stopped else intervals.paired_interval
    gaps = _gaps_within_limit(groups, summaries, confidence, paired)
    best, ties = _cheapest(summaries, gaps)
    return Comparison(
        reference=reference,
        confidence=confidence,
        limit_days_below_target=limit_days_below_target,
        runs=len(groups[reference]),
        runs_left_out=left_out,
        years=float(complete["years"].min()),
        summaries=summaries,
        differences=_differences(groups, reference, confidence, paired),
        gaps=gaps,
        best=best,
        not_distinguishable=ties,
        reason=_reason(summaries, best, limit_days_below_target),
    )


def compare_by_goals(rows: pd.DataFrame, reference: str, goals: Goals, stopped: bool = False) -> Comparison:
    """Compare policies by the limits a scenario states."""
    return compare(
        rows,
        reference,
        goals.limit_days_below_target,
        limit_water_off_h=goals.limit_water_off_h,
        stopped=stopped,
    )


def _complete(rows: pd.DataFrame, reference: str) -> tuple[pd.DataFrame, int]:
    """Return the rows of replications that every policy finished, and how many replications were left out."""
    _check_rows(rows, reference)
    policies = rows["policy"].nunique()
    finished = rows.groupby("replication")["policy"].count()
    whole = finished.index[finished == policies]
    if whole.empty:
        raise InputError("no replication was finished by every policy; nothing can be compared")
    kept = rows[rows["replication"].isin(whole)].sort_values(["policy", "replication"])
    return kept, len(finished) - len(whole)


def _check_rows(rows: pd.DataFrame, reference: str) -> None:
    missing = [name for name in ("policy", "replication", *NEEDED) if name not in rows.columns]
    if missing:
        raise InputError(f"rows lack {', '.join(missing)}")
    names = sorted(set(rows["policy"]))
    if reference not in names:
        raise InputError(f"reference {reference!r} is not among the policies: {', '.join(names) or 'none'}")
    if rows.duplicated(["policy", "replication"]).any():
        twice = rows[rows.duplicated(["policy", "replication"])].iloc[0]
        raise InputError(f"policy {twice['policy']!r}, replication {twice['replication']} is there twice")
    for name in NEEDED[:-1]:  # least dose is nan when nothing was delivered
        if not np.isfinite(rows[name].to_numpy(dtype=np.float64)).all():
            raise InputError(f"{name} is not a finite number in every row")
    if not (rows["years"] > 0).all():
        raise InputError("years is not above 0 in every row")


def _summary(
    policy: str, group: pd.DataFrame, limit: float, limit_off_h: float, confidence: float
) -> PolicySummary:
    cost, days = _column(group, "cost"), _column(group, "days_below_target")
    runs, affected = len(group), int(np.count_nonzero(days > 0))
    share_bound = intervals.proportion_upper_bound(affected, runs, confidence)
    mean_days = _days_interval(days, float(group["years"].min()), confidence)
    return PolicySummary(
        policy=policy,
        runs=runs,
        cost=intervals.mean_interval(cost, confidence),
        cost_median=float(np.median(cost)),
        cost_p90=float(np.quantile(cost, 0.9)),
        water_off_h=hours_of_year(intervals.skewed_interval(group["water_off_h"], confidence)),
        alarm_h=hours_of_year(intervals.skewed_interval(group["alarm_h"], confidence)),
        days_below_target=mean_days,
        days_median=float(np.median(days)),
        days_p90=float(np.quantile(days, 0.9)),
        runs_with_days=affected,
        share_with_days=intervals.proportion_interval(affected, runs, confidence),
        share_upper_bound=share_bound,
        least_dose_j_m2=float(group["least_dose_j_m2"].min()),
        within_limit=mean_days.known and mean_days.high <= limit,
        keeps_water_on=float(group["water_off_h"].mean()) <= limit_off_h,
        why=_why(mean_days, limit),
        **_by_people(group, confidence),
        causes=_by_cause(group),
        pump_failures_per_year=_mean(group, "pump_failures"),
        pump_water_off_h=_mean(group, "pump_water_off_h"),
    )


def _mean(group: pd.DataFrame, name: str) -> float:
    """Return the mean of a column, nan where the rows do not have it."""
    return float(group[name].mean()) if name in group else math.nan


def _by_people(group: pd.DataFrame, confidence: float) -> dict[str, Any]:
    """Return days that people caused and their share, where the rows say."""
    if BY_PEOPLE not in group:
        return {}
    all_days, days = float(group["days_below_target"].sum()), _column(group, BY_PEOPLE)
    return {
        "people_days": _days_interval(days, float(group["years"].min()), confidence),
        "people_share": float(days.sum()) / all_days if all_days > 0 else math.nan,
    }


def _by_cause(group: pd.DataFrame) -> dict[str, float]:
    """Return mean days of each cause, most first, where the rows say; causes without days are left out."""
    means = {
        name: float(group[column(DAYS, code)].mean())
        for code, name in enumerate(CAUSES)
        if column(DAYS, code) in group
    }
    return dict(sorted(((name, mean) for name, mean in means.items() if mean > 0), key=lambda one: -one[1]))


def _days_interval(days: _Sample, years: float, confidence: float) -> Interval:
    """Return the interval of mean days a year; where few runs had any, it allows for what was not seen."""
    if days.size == 1 or not is_rare(days):
        return days_of_year(intervals.skewed_interval(days, confidence))
    found = days_of_year(rare_interval(days, UNSEEN_DAYS / years, confidence))
    affected = int(np.count_nonzero(days))
    who = f"only {affected} of {days.size} runs had such days" if affected else "no run had such a day"
    most = max(UNSEEN_DAYS, float(days.max()) * years)
    return replace(found, reason=f"{who}; the bounds allow for a run, unseen, with {number(most)} of them")


def _days_difference(group: pd.DataFrame, base: pd.DataFrame, confidence: float) -> Interval:
    days, others = _column(group, "days_below_target"), _column(base, "days_below_target")
    difference = intervals.differences(days, others)
    if difference.size == 1 or not is_rare(difference):
        return days_of_year(intervals.paired_skewed_interval(days, others, confidence))
    return days_of_year(rare_difference(days, others, UNSEEN_DAYS / group["years"].min(), confidence))


def _why(days: Interval, limit: float) -> str:
    if not days.known:
        return days.reason
    if days.high <= limit:
        return f"at most {number(days.high)} days a year, within the limit of {given(limit)}"
    if limit == 0:
        return f"no number of runs can show a limit of 0; these show at most {number(days.high)} days a year"
    if days.estimate > limit:
        return f"a mean of {number(days.estimate)} days a year, over the limit of {given(limit)}"
    return f"up to {number(days.high)} days a year, over the limit of {given(limit)}, though the mean is not"


def _differences(
    groups: Mapping[str, pd.DataFrame], reference: str, confidence: float, paired: _Paired
) -> tuple[Difference, ...]:
    each = intervals.bonferroni(confidence, len(groups) - 1)
    base = groups[reference]
    return tuple(
        Difference(
            policy=name,
            cost=paired(group["cost"], base["cost"], each),
            water_off_h=intervals.paired_skewed_interval(group["water_off_h"], base["water_off_h"], each),
            days_below_target=_days_difference(group, base, each),
            cost_correlation=_correlation(_column(group, "cost"), _column(base, "cost")),
            cost_variance_ratio=_variance_ratio(_column(group, "cost"), _column(base, "cost")),
        )
        for name, group in groups.items()
        if name != reference
    )


def _correlation(x: _Sample, y: _Sample) -> float:
    if x.size < 2 or np.ptp(x) == 0 or np.ptp(y) == 0:
        return math.nan
    return float(np.corrcoef(x, y)[0, 1])


def _variance_ratio(x: _Sample, y: _Sample) -> float:
    if x.size < 2 or (np.ptp(x) == 0 and np.ptp(y) == 0):
        return math.nan
    return float(np.var(intervals.differences(x, y)) / (np.var(x) + np.var(y)))


def _gaps_within_limit(
    groups: Mapping[str, pd.DataFrame],
    summaries: tuple[PolicySummary, ...],
    confidence: float,
    paired: _Paired,
) -> dict[str, Interval]:
    """Return gaps to the best, allowing for every policy compared: the same runs chose who is in."""
    costs = {item.policy: _column(groups[item.policy], "cost") for item in summaries if item.eligible}
    return intervals.best_gap_intervals(costs, confidence, len(groups) - 1, paired)


def _cheapest(
    summaries: tuple[PolicySummary, ...], gaps: Mapping[str, Interval]
) -> tuple[str | None, tuple[str, ...]]:
    """Return the cheapest within the limit (the reference where costs are equal) and those that may be."""
    within = [item for item in summaries if item.eligible]
    if not within:
        return None, ()
    least = min(item.cost.estimate for item in within)
    best = next(i for i in within if i.cost.estimate <= least + intervals.ROUNDING * abs(least)).policy
    ties = [item for item in within if item.policy != best and gaps[item.policy].low <= 0]
    return best, tuple(item.policy for item in sorted(ties, key=lambda item: item.cost.estimate))


def _reason(summaries: tuple[PolicySummary, ...], best: str | None, limit: float) -> str:
    within = sum(item.eligible for item in summaries)
    if best is not None:
        return f"least mean cost of the {within} of {len(summaries)} policies within the limit"
    if summaries[0].runs == 1:
        return "one run gives no bounds, so no policy is shown to keep within the limit"
    if limit == 0:
        return "no number of runs can show a limit of 0 days a year"
    return f"no policy is shown to keep within {counted(limit, 'day')} a year below the dose target"


def _column(group: pd.DataFrame, name: str) -> _Sample:
    return group[name].to_numpy(dtype=np.float64)
