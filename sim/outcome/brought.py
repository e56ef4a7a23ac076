"""What leaving work undone can bring: causes of bad days and outages, and what shows on the way.

A cause is booked in order: flow, water, lamp, film. What comes later suffers with what comes before, and what
dims the light makes people wait for work they are asked for.
"""

from dataclasses import dataclass

from sim.plant.cause import (
    CAUSES,
    CLOGGED,
    FILM,
    FLOW,
    LAMP_AGE,
    LAMP_DIED,
    PUMP_BROKEN,
    PUT_OFF,
    WATER,
)
from sim.scenario.care import EVERYTHING, Policy, Skip
from sim.scenario.effects import TaskEffect
from sim.scenario.scenario import Scenario
from sim.twin.lamps import NAMES

_FILM = {FILM, PUT_OFF}
_OLD = {LAMP_AGE, *_FILM}
_LAMP = {LAMP_DIED, *_OLD}
_DIRT = {CLOGGED, WATER, FLOW, *_OLD}  # dirt ends no lamp
_PUMP = {PUMP_BROKEN, PUT_OFF}
CAUSES_OF: dict[TaskEffect, set[int]] = {
    "new cartridge": _DIRT,
    "rinsed cartridge": _DIRT,
    "new lamp": _LAMP,
    "wiped sleeve": _FILM,
    "wiped sensor window": _FILM,
    "set precharge": _PUMP,
    "new pump": _PUMP,
    "new pressure tank": _PUMP,
    "cleared gutters": _DIRT,
    "cleaned cistern": _DIRT,
    "sample": set(),
}
_RESTLESS: set[TaskEffect] = {"set precharge", "new pressure tank"}  # a pump that starts too often
_AT_ALL_STAGES: set[TaskEffect] = {"cleared gutters", "cleaned cistern"}


@dataclass(frozen=True)
class Brought:
    """What work left undone can bring."""

    causes: frozenset[int]  # codes of `sim.plant.cause`
    stages: frozenset[str]  # over which the drop can grow
    parts: frozenset[str]  # that can fail
    starts: bool  # whether the pump can come to start too often

    @property
    def light(self) -> bool:
        """Whether the UV reading can fall."""
        return FILM in self.causes


def anything(scenario: Scenario) -> Brought:
    """Return what can be brought at all."""
    parts = frozenset({*NAMES[: scenario.uv.units], "pump", "bladder"})
    return Brought(frozenset(range(len(CAUSES))), frozenset(scenario.stage_names), parts, True)


def brought(scenario: Scenario, policy: Policy) -> Brought:
    """Return what the skips of a policy can bring."""
    tasks = {task.name: task for task in scenario.tasks}
    causes: set[int] = set()
    effects: set[TaskEffect] = set()
    stages: set[str] = set()
    for rule in policy.rules:
        if not any(_skips(skip, rule.task, rule.stage) for skip in policy.skips):
            continue
        effects |= set(tasks[rule.task].effects)
        if rule.stage is not None:  # a torn cartridge lets its dirt pass to those behind it
            stages |= set(scenario.stage_names[scenario.stage_names.index(rule.stage) :])
    for effect in effects:
        causes |= CAUSES_OF[effect]
    if effects & _AT_ALL_STAGES:
        stages |= set(scenario.stage_names)
    parts = {
        **dict.fromkeys(NAMES[: scenario.uv.units], LAMP_DIED in causes),
        "pump": PUMP_BROKEN in causes,
        "bladder": "new pressure tank" in effects,
    }
    return Brought(
        frozenset(causes),
        frozenset(stages),
        frozenset(part for part, can in parts.items() if can),
        bool(effects & _RESTLESS),
    )


def _skips(skip: Skip, task: str, stage: str | None) -> bool:
    return skip.task in (EVERYTHING, task) and skip.stage in (None, stage)
