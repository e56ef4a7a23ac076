"""Service sheets to print: one for each visit, with parts, steps, cautions and boxes for what was read."""

from typing import Any

from sim.report.html.template import filled
from sim.scenario.procedure import RETURN
from sim.scenario.scenario import Scenario
from sim.study.visits.question import VisitsAnswer, VisitsQuestion
from sim.study.visits.service_sheet import Doing, between, doings, limits, minutes, numbered, parts
from sim.study.visits.visits import READINGS, Visit
from sim.units import SHOWN, text


def build(question: VisitsQuestion, answer: VisitsAnswer, units: str) -> str:
    """Return the sheets as one HTML document, a printed page or two each.

    Parameters
    ----------
    units : str
        "us" or "si".
    """
    scenario, policy = question.site.scenario, question.site.policy(question.policy)
    pairs = numbered(answer.visits)
    back = scenario.procedure(RETURN)
    return filled(
        "sheets.html.j2",
        site=scenario.name,
        policy=policy.name,
        sheets=[_sheet(scenario, number, visit) for number, visit in pairs if not visit.only_readings],
        rounds=[visit.on for _, visit in pairs if visit.only_readings],
        readings=readings(scenario, units),
        limits=limits(scenario, policy, units),
        between=between(policy),
        back=back,
        back_steps=[Doing(RETURN, step) for step in scenario.steps(RETURN)],
        fittings=scenario.fittings,
    )


def readings(scenario: Scenario, units: str) -> list[tuple[str, str]]:
    """Return what is read at a visit, and what it should be about.

    Parameters
    ----------
    units : str
        "us" or "si".
    """
    unit = SHOWN[units]["pressure"].unit
    switch, tank = scenario.switch, scenario.tank
    flow = text(scenario.gauge.reading_flow_m3_s, "flow", units)
    return [
        (f"Pressure at pump start, {unit}", f"set to {text(switch.cut_in_pa, 'pressure', units)}"),
        (f"Pressure at pump stop, {unit}", f"set to {text(switch.cut_out_pa, 'pressure', units)}"),
        *(
            (
                f"Drop over {stage.name}, {unit}",
                f"a tap open at {flow}; due at a rise of {text(stage.terminal_rise_pa, 'pressure', units)}",
            )
            for stage in scenario.stages
        ),
        ("UV reading, %", f"alarm below {100 * scenario.uv.alarm:g} %"),
        ("Lamp hours", f"rated for {scenario.uv.rated_life_s / 3600:,.0f} h"),
        (f"Precharge, {unit} (tank drained)", f"set to {text(tank.precharge_pa, 'pressure', units)}"),
    ]


def _sheet(scenario: Scenario, number: int, visit: Visit) -> dict[str, Any]:
    steps = doings(scenario, visit)
    cautions = [
        found.caution for job in visit.jobs if (found := scenario.procedure(job.task)) and found.caution
    ]
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
    }
