"""The next visit: what falls due about the same time is done together."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from sim.scenario.scenario import Scenario
from sim.study.today.parts import PartToday
from sim.study.visits.service_sheet import minutes, split
from sim.study.visits.visits import OWNER, TECHNICIAN, Job, Visit

TOGETHER_DAYS = 30  # what is due so soon after the first is done with it [A]


@dataclass(frozen=True)
class NextVisit:
    """When something is to be done next, all that is done then, and what is bought for it."""

    on: date
    tasks: tuple[str, ...]
    buy: tuple[str, ...]
    minutes: float  # as its sheets have it: steps that tasks share are done once


def next_visit(
    scenario: Scenario, parts: Sequence[PartToday], today: date, together_days: int
) -> NextVisit | None:
    """Return the next visit, or None where nothing falls due within what can be told."""
    due = [part for part in parts if part.due is not None and part.tasks]
    if not due:
        return None
    on = max(today, min(part.due for part in due if part.due is not None))
    taken = [part for part in due if part.due is not None and part.due <= on + timedelta(days=together_days)]
    labels = list(dict.fromkeys(label for part in taken for label in part.tasks))
    labels.sort(key=lambda label: _order(scenario, label))
    found = [scenario.task(label.partition(":")[0]) for label in labels]
    buy = [
        part
        for task, label in zip(found, labels, strict=True)
        if task is not None and (part := task.part_on(label.partition(": ")[2] or None))
    ]
    whole = _visit(scenario, on, labels)
    takes = sum(minutes(scenario, sheet) for sheet in split(scenario, whole))
    return NextVisit(on, tuple(labels), tuple(buy), takes)


def _order(scenario: Scenario, label: str) -> int:
    task = scenario.task(label.partition(":")[0])
    return 101 if task is None else task.order


def as_visit(scenario: Scenario, found: NextVisit) -> Visit:
    """Return the next visit as sheets and calendars take it."""
    return _visit(scenario, found.on, found.tasks)


def _visit(scenario: Scenario, on: date, labels: Sequence[str]) -> Visit:
    pairs = [label.partition(": ") for label in labels]
    tasks = [scenario.task(name) for name, _, _ in pairs]
    who = TECHNICIAN if any(task is not None and task.technician_only for task in tasks) else OWNER
    return Visit(on, who, tuple(Job(name, stage, on) for name, _, stage in pairs))
