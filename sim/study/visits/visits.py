"""A service calendar: which visits a policy asks for from a date on, who comes, and for what."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from dateutil.relativedelta import relativedelta

from sim.constants import DAY_S, MONTH_S
from sim.errors import InputError
from sim.scenario.care import READINGS, Policy
from sim.scenario.nearest import nearest
from sim.scenario.scenario import Scenario

TOGETHER = timedelta(days=7)  # what falls due within a week is done in one go [A]
FIRST = "wiped sensor window"  # of what opens the train: read by itself before anything else is touched
LAST = 101  # after every order of a task
OWNER, TECHNICIAN = "owner", "technician"


@dataclass(frozen=True)
class Job:
    """One task of a visit.

    Attributes
    ----------
    task : str
        Name of the task, or "read the gauges".
    stage : str
        Its stage; empty when it has none.
    due : date
        When it falls due by itself.
    """

    task: str
    stage: str
    due: date

    @property
    def label(self) -> str:
        """What it is called."""
        return f"{self.task}: {self.stage}" if self.stage else self.task


@dataclass(frozen=True)
class Visit:
    """What one person does on one day."""

    on: date
    who: str
    jobs: tuple[Job, ...]

    @property
    def only_readings(self) -> bool:
        """Whether nothing but gauges are read."""
        return all(job.task == READINGS for job in self.jobs)


@dataclass
class _Coming:
    """A task that comes back."""

    task: str
    stage: str
    who: str
    every_s: float
    due: date
    window: timedelta = field(default=TOGETHER)


def after(day: date, every_s: float) -> date:
    """Return the day some time later; whole months and years are those of the calendar.

    Examples
    --------
    >>> after(date(2028, 2, 29), 12 * MONTH_S)
    datetime.date(2029, 2, 28)
    >>> after(date(2027, 1, 1), 14 * 86400.0)
    datetime.date(2027, 1, 15)
    """
    months = every_s / MONTH_S
    try:
        if round(months) >= 1 and abs(months - round(months)) < 1e-6:
            found: date = day + relativedelta(months=round(months))
            return found
        return day + timedelta(days=max(1, round(every_s / DAY_S)))
    except (OverflowError, ValueError):
        return date.max


def visits(
    scenario: Scenario,
    policy: Policy,
    start: date,
    done: Mapping[str, date] | None = None,
    together: timedelta = TOGETHER,
) -> tuple[Visit, ...]:
    """Return the visits of the year from a date on, its anniversary included, so that yearly work is in it.

    Parameters
    ----------
    done : mapping of str to date, optional
        When tasks were last done, by label such as "change cartridge: carbon"; others count as done the day
        the calendar begins.

    Raises
    ------
    InputError
        When a date given in `done` is of no task of the policy, or after the start.
    """
    coming = _coming(policy, start, done or {}, together)
    try:
        end = start + relativedelta(years=1)
    except (OverflowError, ValueError):
        raise InputError(f"--from is {start}; wanted a date with a year after it") from None
    found: list[Visit] = []
    while coming and (first := min(coming, key=lambda one: one.due)).due <= end:
        on = first.due
        taken = [one for one in coming if one.who == first.who and one.due <= on + one.window]
        if first.task == READINGS:
            taken = [first]
        jobs = [Job(one.task, one.stage, one.due) for one in taken if one.task]
        for one in taken:
            one.due = after(on, one.every_s)
        if jobs:
            found.append(Visit(on, first.who, tuple(sorted(jobs, key=lambda job: _place(scenario, job)))))
    return _with_readings(found)


def _coming(policy: Policy, start: date, done: Mapping[str, date], together: timedelta) -> list[_Coming]:
    found: dict[str, _Coming] = {}
    for rule in policy.rules:
        if rule.when == "calendar":
            label = rule.label
            window = together
            if rule.by == TECHNICIAN:
                window = max(together, timedelta(seconds=policy.bundle_s))
            one = _Coming(rule.task, rule.stage or "", rule.by, rule.every_s, start, window)
            if label not in found or one.every_s < found[label].every_s:
                found[label] = one
    if policy.reading_every_s:
        found[READINGS] = _Coming(READINGS, "", OWNER, policy.reading_every_s, start)
    for label, day in done.items():
        if label not in found:
            raise InputError(f"--done: {label!r} is no task by the calendar; {nearest(label, found)}")
        if day > start:
            raise InputError(f"--done: {label!r} is dated {day}, after the start on {start}")
    for label, one in found.items():
        one.due = max(start, after(done.get(label, start), one.every_s))
    if policy.technician_every_s:
        due = after(start, policy.technician_every_s)
        window = timedelta(seconds=policy.bundle_s)
        found["call"] = _Coming("", "", TECHNICIAN, policy.technician_every_s, due, window)
    return list(found.values())


def _place(scenario: Scenario, job: Job) -> tuple[int, int]:
    """Return where a job stands on a visit; the gauges are read when all is done."""
    task = scenario.task(job.task)
    order = LAST if task is None else task.order
    if task is not None and FIRST in task.effects:
        order = min(one.order for one in scenario.tasks if one.unplugs_uv and one.before == task.before)
        return order - 1, -1
    return order, scenario.stage_names.index(job.stage) if job.stage else -1


def _with_readings(found: list[Visit]) -> tuple[Visit, ...]:
    """Join a round of readings and the owner's work of the same day."""
    joined: dict[tuple[date, str], Visit] = {}
    for visit in sorted(found, key=lambda one: (one.on, one.who != "technician", not one.only_readings)):
        key = (visit.on, visit.who)
        jobs = (*joined[key].jobs, *visit.jobs) if key in joined else visit.jobs
        joined[key] = Visit(visit.on, visit.who, jobs)
    return tuple(joined.values())


_DONE = re.compile(r"(.+?)\s*=\s*(\d{4}-\d\d-\d\d)", re.ASCII)


def read_done(words: Sequence[str]) -> dict[str, date]:
    """Read when tasks were last done.

    Parameters
    ----------
    words : sequence of str
        Each as "wipe sleeve=2026-11-20".

    Raises
    ------
    InputError
        When one cannot be read.
    """
    found = {}
    for word in words:
        match = _DONE.fullmatch(word.strip())
        if not match:
            raise InputError(
                f'--done is {word!r}; wanted a task and a date, such as "wipe sleeve=2026-11-20"'
            )
        found[match.group(1)] = read_date(match.group(2), "--done")
    return found


def read_date(words: str, name: str) -> date:
    """Read a date.

    Raises
    ------
    InputError
        When it is none.
    """
    try:
        return date.fromisoformat(words)
    except ValueError:
        raise InputError(f"{name} is {words!r}; wanted a date such as 2027-01-01") from None
