"""Policies side by side: how each stands to the limits, differences to a reference, which is recommended.

Days below the dose target, water-off hours and, where the site sets a limit, hours of alarm come first: cost
is looked at among policies shown to be within all limits. Only replications that every policy finished are
used: all met the same weather.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from sim.errors import InputError
from sim.scenario.care import Goals
from sim.study.compare.choice import Choice, Margins, Samples, choose, dominated
from sim.study.compare.differences import Difference, differences
from sim.study.compare.measures import (
    Sample,
    alarm_interval,
    column_of,
    counted_days,
    days_interval,
    off_interval,
    off_parts,
)
from sim.study.compare.policy_summary import PolicySummary, summarised
from sim.study.compare.standing import Limit, standings

NEEDED = ("years", "cost", "water_off_h", "alarm_h", "days_below_target", "least_dose_j_m2")
LEAST_ZONE_D, LEAST_ZONE_H, ZONE_SHARE = 0.5, 10.0, 0.1  # known so well, a mean on its limit is called so [A]
WORTH = 25.0  # money a year that matters [A]
MARGINS = Margins(days=1.0, money=WORTH)

_Groups = Mapping[str, pd.DataFrame]


@dataclass(frozen=True)
class Comparison:
    """What the runs say about the policies.

    Attributes
    ----------
    reference : str
        Policy the others are compared with.
    confidence : float
        Confidence of each summary by itself, and of all differences together [fraction].
    limit_days_below_target, limit_water_off_h, limit_alarm_h : float
        Most mean days below the dose target, water-off hours and hours of alarm that are accepted
        [d/year, h/year, h/year]; infinite where there is no limit.
    margins : Margins
        Days and money a year that matter.
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
    choice : Choice
        Which is recommended among those within the limits, if that can be told.
    dominated : mapping of str to str
        Policies that have nothing over another, and over which.
    """

    reference: str
    confidence: float
    limit_days_below_target: float
    limit_water_off_h: float
    limit_alarm_h: float
    margins: Margins
    runs: int
    runs_left_out: int
    years: float
    summaries: tuple[PolicySummary, ...]
    differences: tuple[Difference, ...]
    choice: Choice
    dominated: Mapping[str, str]

    @property
    def limits(self) -> tuple[float, float, float]:
        """The limits, in the order in which `PolicySummary.stands` tells of them."""
        return self.limit_days_below_target, self.limit_water_off_h, self.limit_alarm_h

    @property
    def best(self) -> str | None:
        """The policy that is recommended."""
        return self.choice.recommended

    @property
    def settled(self) -> bool:
        """Whether more runs would change neither a verdict nor the choice."""
        each = [one for item in self.summaries for one in item.stands]
        return self.choice.settled and all(one.settled for one in each)

    def summary(self, policy: str) -> PolicySummary:
        """Return the summary of one policy."""
        return next(summary for summary in self.summaries if summary.policy == policy)


def compare(
    rows: pd.DataFrame,
    reference: str,
    limit_days_below_target: float,
    confidence: float = 0.95,
    limit_water_off_h: float = math.inf,
    limit_alarm_h: float = math.inf,
    stopped: bool = False,
    looks: Sequence[int] = (),
    margins: Margins = MARGINS,
) -> Comparison:
    """Compare policies that met the same weather, draws and failures.

    Parameters
    ----------
    limit_days_below_target : float
        Most mean days below the dose target that are accepted [d/year, at least 0; no runs can show 0].
    confidence : float
        Confidence [fraction, between 0 and 1].
    looks : sequence of int
        After how many runs the study was planned to be looked at; once, at its end, when none are given.

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
    runs, planned = len(groups[reference]), tuple(looks) or (len(groups[reference]),)
    years = float(complete["years"].min())
    days_limit, off_limit, alarm_limit = _limits(
        (limit_days_below_target, limit_water_off_h, limit_alarm_h), years
    )
    by_days = standings({name: counted_days(group) for name, group in groups.items()}, days_limit, planned)
    by_off = standings({name: off_parts(group) for name, group in groups.items()}, off_limit, planned)
    by_alarm = standings(
        {name: column_of(group, "alarm_h") for name, group in groups.items()}, alarm_limit, planned
    )
    summaries = tuple(
        summarised(name, group, (by_days[name], by_off[name], by_alarm[name]), confidence)
        for name, group in groups.items()
    )
    samples = _samples(groups)
    states = {item.policy: item.standing for item in summaries}
    enough = runs >= planned[0] and runs > 1
    return Comparison(
        reference=reference,
        confidence=confidence,
        limit_days_below_target=limit_days_below_target,
        limit_water_off_h=limit_water_off_h,
        limit_alarm_h=limit_alarm_h,
        margins=margins,
        runs=runs,
        runs_left_out=left_out,
        years=years,
        summaries=summaries,
        differences=differences(groups, reference, confidence, stopped),
        choice=choose(samples, states, margins, len(planned)),
        dominated=dominated(samples, margins, list(groups), len(planned)) if enough else {},
    )


def compare_by_goals(
    rows: pd.DataFrame, reference: str, goals: Goals, stopped: bool = False, looks: Sequence[int] = ()
) -> Comparison:
    """Compare policies by the limits a scenario states."""
    return compare(
        rows,
        reference,
        goals.limit_days_below_target,
        limit_water_off_h=goals.limit_water_off_h,
        limit_alarm_h=goals.most_alarm_h,
        stopped=stopped,
        looks=looks,
        margins=Margins(goals.days_that_matter, WORTH),
    )


def _limits(limits: tuple[float, float, float], years: float) -> tuple[Limit, Limit, Limit]:
    days, off_h, alarm_h = limits
    return (
        Limit(
            days,
            max(LEAST_ZONE_D, ZONE_SHARE * days),
            lambda sample, confidence: days_interval(sample, years, confidence),
        ),
        Limit(
            off_h,
            max(LEAST_ZONE_H, ZONE_SHARE * off_h),
            lambda sample, confidence: off_interval(sample, years, confidence),
        ),
        Limit(alarm_h, max(LEAST_ZONE_H, ZONE_SHARE * alarm_h), alarm_interval),
    )


def _samples(groups: _Groups) -> Samples:
    def of(name: str) -> dict[str, Sample]:
        return {policy: column_of(group, name) for policy, group in groups.items()}

    days = {policy: counted_days(group) for policy, group in groups.items()}
    return Samples(days, of("cost"), of("water_off_h"), of("alarm_h"))


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
