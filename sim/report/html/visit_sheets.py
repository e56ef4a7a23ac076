"""Service sheets to print: one for each visit, with parts, steps, cautions and boxes for what was read."""

from collections.abc import Sequence
from typing import Any

from sim.report.html import year_plan
from sim.report.html.template import filled
from sim.scenario.care import READINGS
from sim.scenario.effects import any_needs
from sim.scenario.procedure import RETURN
from sim.scenario.scenario import Scenario
from sim.study.caution import AT_WORK
from sim.study.visits.expected import expected_rows
from sim.study.visits.plumbing import fittings, lacks, missed, refused, steps_on
from sim.study.visits.question import VisitsAnswer, VisitsQuestion
from sim.study.visits.service_sheet import (
    Doing,
    between,
    doings,
    limits,
    minutes,
    numbered,
    parts,
    split,
)
from sim.study.visits.visits import Job, Visit
from sim.study.wording import percent
from sim.twin.due_drop import clean_drop_pa, due_drop_pa, reading_flow_m3_s
from sim.units import SHOWN, Units, text

TWO_UNITS = (
    "Two UV units stand in this train: unplug both before either is opened, do each step that touches the "
    "unit at both, and read both before water goes to the house."
)


def build(question: VisitsQuestion, answer: VisitsAnswer, units: Units, part: str = "sheets") -> str:
    """Return the sheets of the visits, or of all tasks, or the year's plan, or the alarm card, as a page."""
    if part == "plan":
        return year_plan.build(question.site.scenario, question.policy, answer.visits, question.start)
    if part == "card":
        return filled("card.html.j2", site=question.site.scenario.name)
    if part == "key":
        return _key(question)
    if part == "tasks":
        return _tasks(question, units)
    return _visits(question, answer, units)


def _visits(question: VisitsQuestion, answer: VisitsAnswer, units: Units) -> str:
    scenario, policy = question.site.scenario, question.site.policy(question.policy)
    pairs = numbered(answer.visits)
    sheets = [
        _sheet(scenario, f"{number}{part}", one)
        for number, visit in pairs
        if not visit.only_readings
        for part, one in _parts(split(scenario, visit))
    ]
    return _page(
        question,
        units,
        policy.name,
        sheets,
        rounds=[visit.on for _, visit in pairs if visit.only_readings],
        limits=limits(scenario, policy, units),
        between=between(scenario, policy),
    )


def _parts(visits: Sequence[Visit]) -> list[tuple[str, Visit]]:
    letters = "abcdefghijklmnop" if len(visits) > 1 else " "
    return [(letter.strip(), visit) for letter, visit in zip(letters, visits, strict=False)]


def _tasks(question: VisitsQuestion, units: Units) -> str:
    """Return a sheet of every task and guide of the site, whether or not a policy asks for it."""
    scenario = question.site.scenario
    jobs = [
        Job(one.name, stage, question.start)
        for one in scenario.tasks
        for stage in (scenario.stage_names if one.on_stage else ("",))
    ] + [Job(one.name, "", question.start) for one in scenario.guides]
    sheets = [_sheet(scenario, "", Visit(question.start, "", (job,))) for job in jobs]
    return _page(question, units, "every task", sheets, rounds=[], limits=(), between=())


def _key(question: VisitsQuestion) -> str:
    """Return for trainers what leaving out each step of each task leads to on this train."""
    scenario = question.site.scenario
    have = fittings(scenario)
    names = [*(one.name for one in scenario.tasks), *(one.name for one in scenario.guides)]
    tasks = {
        name: [
            (step.text, step.missed, missed(scenario, name, step.id) if step.operates or step.acts else ())
            for step in steps_on(scenario, name, have)
        ]
        for name in names
        if not refused(scenario, name)
    }
    return filled("key.html.j2", site=scenario.name, caution=AT_WORK, tasks=tasks)


def _page(
    question: VisitsQuestion, units: Units, policy: str, sheets: Sequence[dict[str, Any]], **more: Any
) -> str:
    """Return sheets as a page, with what belongs to every one."""
    scenario = question.site.scenario
    return filled(
        "sheets.html.j2",
        site=scenario.name,
        policy=policy,
        caution=AT_WORK,
        sheets=sheets,
        expected=expected_rows(scenario.uv, question.clean),
        readings=readings(scenario, units),
        back=scenario.procedure(RETURN),
        back_heading=RETURN,
        back_steps=[Doing(RETURN, step) for step in scenario.steps(RETURN)],
        fittings=scenario.fittings,
        **more,
    )


def readings(scenario: Scenario, units: Units) -> list[tuple[str, str]]:
    """Return what is read at a visit, and what it should be about."""
    unit = SHOWN[units]["pressure"].unit
    switch, tank = scenario.switch, scenario.tank
    both = "; the lower of both units" if scenario.uv.units > 1 else ""
    flow = text(reading_flow_m3_s(scenario), "flow", units)
    return [
        (f"Pressure at pump start, {unit}", f"set to {text(switch.cut_in_pa, 'pressure', units)}"),
        (f"Pressure at pump stop, {unit}", f"set to {text(switch.cut_out_pa, 'pressure', units)}"),
        *(
            (
                f"Drop over {stage.name}, {unit}",
                f"at {flow}: some {text(clean_drop_pa(scenario, k), 'pressure', units)} when clean, due from "
                f"{text(due_drop_pa(scenario, k), 'pressure', units)} on",
            )
            for k, stage in enumerate(scenario.stages)
        ),
        ("UV reading R0, as found, %", f"alarm below {percent(scenario.uv.alarm)}{both}"),
        ("UV reading R1, window wiped, %", "window = R0 / R1"),
        ("UV reading R2, sleeve wiped, %", "sleeve = R1 / R2; compare with the reading expected"),
        ("Lamp hours", f"rated for {scenario.uv.rated_life_s / 3600:,.0f} h"),
        (f"Precharge, {unit} (tank drained)", f"set to {text(tank.precharge_pa, 'pressure', units)}"),
    ]


def _sheet(scenario: Scenario, number: str, visit: Visit) -> dict[str, Any]:
    lacking = {job.label: lacks(scenario, job.task) for job in visit.jobs if refused(scenario, job.task)}
    steps = () if lacking else doings(scenario, visit)
    cautions = [
        found.caution for job in visit.jobs if (found := scenario.procedure(job.task)) and found.caution
    ]
    light = any(
        any_needs(task.effects, "unplugged")
        for job in visit.jobs
        if (task := scenario.task(job.task)) is not None
    )
    cautions += [TWO_UNITS] if light and scenario.uv.units > 1 else []
    return {
        "number": number,
        "on": visit.on,
        "who": visit.who,
        "jobs": [job.label for job in visit.jobs],
        "reads": any(job.task == READINGS for job in visit.jobs),
        "minutes": round(minutes(scenario, visit)),
        "cautions": list(dict.fromkeys(cautions)),
        "parts": parts(scenario, visit),
        "tools": list(dict.fromkeys(t for doing in steps for t in doing.step.tool.split(", ") if t)),
        "steps": steps,
        "lacking": lacking,
        "light": light,
    }
