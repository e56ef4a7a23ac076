"""What a comparison takes from the rows, each from one place, and the bounds of its mean."""

from collections.abc import Iterable
from dataclasses import replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from sim.outcome.causes import DAYS, EXCESS_DAYS, OFF_H, column
from sim.plant import cause
from sim.study.statistics import intervals
from sim.study.statistics.intervals import Interval
from sim.study.statistics.mixed_hours import mixed_interval
from sim.study.statistics.rare import is_rare, rare_difference, rare_interval
from sim.study.statistics.year_bounds import days_of_year, hours_of_year
from sim.study.wording import number

Sample = NDArray[np.float64]
DAYS_SEEN, DAYS_EXPECTED = "days_below_target", "days_expected"  # columns of the rows
UNSEEN_DAYS = 30.0  # of a run that has any: two weeks between readings, and two until it is mended [A]
DAYS_ACCURACY = 0.1  # d/year, of days with known chances in place of what was met (`tests/accuracy.csv`)
UNSEEN_OFF_H = 120.0  # of a run that has any odd hours: a broken pump, some five days until it is renewed [A]
USUAL_OFF = (cause.SERVICE, cause.POWER_CUT, cause.VALVE_SHUT)  # every few runs have some of these
USUAL_SHARE = 0.5  # of the runs: what so many met is no rarity


def column_of(group: pd.DataFrame, name: str) -> Sample:
    """Return a column of the rows as numbers."""
    return group[name].to_numpy(dtype=np.float64)


def counted_days(group: pd.DataFrame) -> Sample:
    """Return days a year below the dose target, with known chances in place of what each run met [d/year].

    Their mean is that of the days seen, at a part of the scatter; a run that met much can be below 0. Days
    as seen, where the rows do not say.
    """
    return column_of(group, DAYS_EXPECTED if DAYS_EXPECTED in group else DAYS_SEEN)


def off_parts(group: pd.DataFrame) -> Sample:
    """Return water-off hours of each run, usual ones and odd ones: of causes that few runs met.

    Returns
    -------
    ndarray, shape (runs, 2)
        Their sum is the water-off hours [h/year]; the odd are nan where the rows do not say the causes.
    """
    whole = column_of(group, "water_off_h")
    names = [column(OFF_H, code) for code in range(len(cause.CAUSES))]
    if not set(names) <= set(group.columns):
        return np.column_stack([whole, np.full_like(whole, np.nan)])
    hours = group[names].to_numpy(dtype=np.float64)
    often = (hours > 0.0).mean(axis=0) >= USUAL_SHARE
    often[list(USUAL_OFF)] = True
    usual = np.minimum(hours[:, often].sum(axis=1), whole)
    return np.column_stack([usual, whole - usual])


def off_interval(parts: Sample, years: float, confidence: float) -> Interval:
    """Return the interval of mean water-off hours a year; it allows for odd hours nobody saw."""
    usual, odd = parts[:, 0], parts[:, 1]
    if len(parts) == 1 or np.isnan(odd).any():
        whole = np.nansum(parts, axis=1)
        return hours_of_year(intervals.skewed_interval(whole, confidence))
    return hours_of_year(mixed_interval(usual, odd, UNSEEN_OFF_H / years, confidence))


def alarm_interval(hours: Sample, confidence: float) -> Interval:
    """Return the interval of mean hours of alarm a year."""
    return hours_of_year(intervals.skewed_interval(hours, confidence))


def days_interval(days: Sample, years: float, confidence: float) -> Interval:
    """Return the interval of mean days a year; where few runs had any, it allows for what was not seen.

    The mean is not below 0, though days with known chances in place of what a run met may be.
    """
    if days.size == 1 or not is_rare(days):
        return days_of_year(_mean_days(intervals.skewed_interval(days, confidence)))
    found = days_of_year(rare_interval(days, UNSEEN_DAYS / years, confidence))
    affected = int(np.count_nonzero(days))
    who = f"only {affected} of {days.size} runs had such days" if affected else "no run had such a day"
    most = max(UNSEEN_DAYS, float(days.max()) * years)
    return replace(found, reason=f"{who}; the bounds allow for a run, unseen, with {number(most)} of them")


def days_by(group: pd.DataFrame, code: int) -> Sample:
    """Return days a year of a cause in each run, those of a known chance as they are to be expected."""
    days, excess = column_of(group, column(DAYS, code)), column(EXCESS_DAYS, code)
    return days - column_of(group, excess) if excess in group else days


def cause_interval(group: pd.DataFrame, codes: Iterable[int], confidence: float) -> Interval:
    """Return the interval of mean days a year of some causes; it allows for odd spells nobody saw.

    What is of a known chance scatters little from run to run; a cause that few runs met, such as a task put
    off for weeks, is lost beside it in one mean and one spread, whose bounds then hold half as often as said.
    """
    usual = odd = np.zeros(len(group))
    for code in codes:
        days = days_by(group, code)
        often = column(EXCESS_DAYS, code) in group or (days > 0.0).mean() >= USUAL_SHARE
        usual, odd = (usual + days, odd) if often else (usual, odd + days)
    if len(group) == 1:
        return days_of_year(intervals.skewed_interval(usual + odd, confidence))
    unseen = UNSEEN_DAYS / float(group["years"].min())
    return days_of_year(_mean_days(mixed_interval(usual, odd, unseen, confidence)))


def days_difference(group: pd.DataFrame, base: pd.DataFrame, confidence: float) -> Interval:
    """Return the interval of the paired difference of days a year."""
    days, others = counted_days(group), counted_days(base)
    difference = intervals.differences(days, others)
    if difference.size == 1 or not is_rare(difference):
        return days_of_year(gap_in_days(days, others, confidence))
    return days_of_year(rare_difference(days, others, UNSEEN_DAYS / group["years"].min(), confidence))


def gap_in_days(days: Sample, others: Sample, confidence: float) -> Interval:
    """Return the interval of the paired difference of days that every few runs have."""
    return _to_accuracy(intervals.paired_skewed_interval(days, others, confidence))


def _mean_days(found: Interval) -> Interval:
    """Return an interval of mean days to their accuracy, nothing in it below 0."""
    wide = _to_accuracy(found)
    return replace(wide, **{one: max(getattr(wide, one), 0.0) for one in ("estimate", "low", "high")})


def _to_accuracy(found: Interval) -> Interval:
    """Return bounds no surer than days are known.

    Odd runs, far to either side, are too few to show in the spread of the others: of draws of kept runs the
    bare bounds held in 64 to 96 of 100, though they missed by less than this.
    """
    return replace(found, low=found.low - DAYS_ACCURACY, high=found.high + DAYS_ACCURACY)
