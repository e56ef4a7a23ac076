"""One page for the year: tasks by month, and what is to be ordered by when."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from sim.report.html.template import filled
from sim.scenario.care import READINGS
from sim.scenario.scenario import Scenario
from sim.study.stated_lives import plan_note
from sim.study.visits.service_sheet import doings, minutes, parts
from sim.study.visits.visits import Visit

SLACK = timedelta(days=3)  # parts are ordered so much earlier than they must be [A]


def build(scenario: Scenario, policy: str, found: Sequence[Visit], start: date) -> str:
    """Return the plan of a year as one HTML page."""
    months = [(start.year + (start.month - 1 + n) // 12, (start.month - 1 + n) % 12 + 1) for n in range(13)]
    steps = [doing.step for visit in found for doing in doings(scenario, visit)]
    return filled(
        "plan.html.j2",
        site=scenario.name,
        policy=policy,
        outlasted=plan_note(next(one for one in scenario.policies if one.name == policy), scenario),
        months=[f"{date(year, month, 1):%b %y}" for year, month in months],
        rows=_rows(scenario, found, months),
        shopping=shopping(scenario, found),
        tools=sorted({tool for step in steps for tool in step.tool.split(", ") if tool}) or ["service sheet"],
    )


def shopping(scenario: Scenario, found: Sequence[Visit]) -> list[dict[str, Any]]:
    """Return what is ordered together, in order: by when, how many of what, for which visit."""
    wanted: dict[tuple[date, date], list[Any]] = {}
    for visit in found:
        for part in parts(scenario, visit):
            by = visit.on - timedelta(seconds=part.lead_s) - SLACK
            wanted.setdefault((by, visit.on), []).append(part)
    return [{"by": by, "on": on, "parts": these} for (by, on), these in sorted(wanted.items())]


def _rows(
    scenario: Scenario, found: Sequence[Visit], months: Sequence[tuple[int, int]]
) -> list[dict[str, Any]]:
    days: dict[tuple[str, str, str], dict[tuple[int, int], list[str]]] = {}
    alone: dict[str, float] = {}
    for visit in found:
        for job in visit.jobs:
            alone[job.label] = minutes(scenario, Visit(visit.on, visit.who, (job,)))
            cells = days.setdefault((job.label, visit.who, job.task), {})
            cells.setdefault((visit.on.year, visit.on.month), []).append(str(visit.on.day))
    return [
        {
            "label": label,
            "who": who,
            "minutes": round(alone[label]),
            "off": task != READINGS and bool((one := scenario.task(task)) and one.shuts_water),
            "days": [" ".join(cells.get(month, [])) for month in months],
        }
        for (label, who, task), cells in days.items()
    ]
