"""The same house with something left undone: what is skipped and when, and what it came to over many runs."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import pandas as pd

from sim.constants import DAY_S
from sim.errors import InputError
from sim.scenario.care import EVERYTHING, Policy, Skip
from sim.scenario.nearest import nearest
from sim.study.compare.measures import DAYS_SEEN, Sample, column_of, counted_days
from sim.study.statistics.intervals import (
    Interval,
    mean_interval,
    paired_interval,
    paired_skewed_interval,
    proportion_interval,
)
from sim.study.statistics.year_bounds import days_of_year, hours_of_year
from sim.twin.common import days_of
from sim.units import parse

SKIPPED = ", skipped"  # added to the name of a policy
CONFIDENCE = 0.95
_MONTH = re.compile(r"month\s+(\d+)", re.ASCII)
_DATE = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)


@dataclass(frozen=True)
class Ends:
    """What a skip came to over many runs, against the same runs with the work done."""

    days: Interval  # more days below the dose target a year, by `measures.counted_days`
    cost: Interval  # more money a year
    worse: Interval  # share of runs with more days below the target
    off_h: Interval  # more hours without water a year
    weak_h: Interval  # more hours of weak taps a year
    unusable: Interval  # days a year on which the house could not be used, with the task skipped
    unusable_runs: int  # runs with such days that the kept run did not have
    runs: int


def moment_s(words: str, start: date, years: int, name: str) -> float:
    """Read when a skip begins or ends: "month 3", a date, or a time since the start such as "90 d".

    Time since the start of the run [s]; month 1 is the calendar month the run begins in. Refused when it
    cannot be read or is not within the run.

    Parameters
    ----------
    years : int
        Length of the run [year].

    Examples
    --------
    >>> moment_s("month 3", date(2027, 1, 1), 1, "--from") / 86400.0
    59.0
    """
    wanted = 'wanted "month 3", a date such as 2027-03-01, or a time such as "90 d"'
    text = words.strip()
    if found := _MONTH.fullmatch(text):
        on = _first_of(start, int(found.group(1)), name)
        time_s = max((on - start).days, 0) * DAY_S
    elif _DATE.fullmatch(text):
        try:
            time_s = (date.fromisoformat(text) - start).days * DAY_S
        except ValueError:
            raise InputError(f"{name} is {text!r}, which is no date; {wanted}") from None
    else:
        try:
            time_s = parse(text, "time")
        except InputError:
            raise InputError(f"{name} is {text!r}; {wanted}") from None
    end = days_of(start, years)
    if not 0 <= time_s <= end * DAY_S:
        raise InputError(f"{name} is {text!r}, outside the run of {end} days from {start}; wanted within it")
    return time_s


def _first_of(start: date, number: int, name: str) -> date:
    months = start.year * 12 + start.month - 1 + number - 1
    if number < 1 or months // 12 > date.max.year:
        raise InputError(f"{name} is 'month {number}'; wanted month 1 or later, within the run")
    return date(months // 12, months % 12 + 1, 1)


def skipping(policy: Policy, tasks: Sequence[str], from_s: float, until_s: float | None) -> Policy:
    """Return a policy in which nobody does some tasks for a time.

    Under its own name with ", skipped" after it. Refused when a task is unknown or not one of the policy's,
    or the end is not after the start.

    Parameters
    ----------
    tasks : sequence of str
        Names of tasks, "change cartridge: sediment" for one stage, or "everything".
    """
    known = labels(policy)
    if until_s is not None and until_s <= from_s:
        raise InputError(f"--until ({until_s / DAY_S:g} d) is not after --from ({from_s / DAY_S:g} d)")
    skips = []
    for name in dict.fromkeys(tasks):
        if name not in known:
            raise InputError(f"task {name!r} is none of policy {policy.name!r}; {nearest(name, known)}")
        task, _, stage = name.partition(": ")
        skips.append(
            Skip.model_validate({"task": task, "stage": stage or None, "from_s": f"{from_s} s",
                                 "until_s": None if until_s is None else f"{until_s} s"})
        )  # fmt: skip
    return with_skips(policy, skips)


def with_skips(policy: Policy, skips: Sequence[Skip]) -> Policy:
    """Return a policy with spans in which nobody does some tasks.

    Under its own name with ", skipped" after it.
    """
    return policy.model_copy(update={"name": policy.name + SKIPPED, "skips": (*policy.skips, *skips)})


def labels(policy: Policy) -> list[str]:
    """Return what can be skipped under a policy: tasks, each stage of a task on stages, and "everything"."""
    found = (label for rule in policy.rules for label in _labels(rule.task, rule.stage))
    return [*dict.fromkeys(found), EVERYTHING]


def _labels(task: str, stage: str | None) -> list[str]:
    return [task] if stage is None else [task, f"{task}: {stage}"]


def ends(rows: pd.DataFrame, kept: str, skipped: str) -> Ends:
    """Return what a skip came to over many runs."""
    left, done = (rows[rows["policy"] == name].sort_values("replication") for name in (skipped, kept))

    def pair(name: str) -> tuple[Sample, Sample]:
        return column_of(left, name), column_of(done, name)

    seen, off, weak, dry = map(pair, (DAYS_SEEN, "water_off_h", "low_pressure_min", "unusable_days"))
    runs, more = len(left), int((seen[0] > seen[1]).sum())
    return Ends(
        days_of_year(paired_skewed_interval(counted_days(left), counted_days(done), CONFIDENCE)),
        paired_interval(*pair("cost"), CONFIDENCE),
        proportion_interval(more, runs, CONFIDENCE),
        hours_of_year(paired_skewed_interval(*off, CONFIDENCE)),
        hours_of_year(paired_skewed_interval(weak[0] / 60.0, weak[1] / 60.0, CONFIDENCE)),
        days_of_year(mean_interval(dry[0], CONFIDENCE)),
        int((dry[0] > dry[1]).sum()),
        runs,
    )
