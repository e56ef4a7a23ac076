"""A rule of the policy with its memory, and the hour of the clock at which people come to it."""

import math
from collections.abc import Generator
from dataclasses import dataclass
from typing import Any

import simpy

from sim.constants import DAY_S, HOUR_S
from sim.errors import InputError
from sim.scenario.care import Policy, Rule, Task
from sim.scenario.rule_checks import check_policy
from sim.scenario.scenario import Scenario
from sim.twin.basis import row_of

Story = Generator[simpy.Event, Any, None]


@dataclass
class Duty:
    """One rule of the policy with its memory."""

    rule: Rule
    task: Task
    stage: int  # -1 when the task is not on a stage
    row: int  # row of this task in the tables of chance
    done_s: float = 0.0  # calendars count from here
    again_s: float = 0.0  # put off until then
    pending: bool = False
    asked_s: float = -math.inf  # when it was last asked for
    occasions: int = 0
    worked_s: float = -math.inf  # when it was last done in fact
    left: bool = False  # asked for in a span in which nobody does it

    @property
    def label(self) -> str:
        """What the diary calls it."""
        return self.rule.label

    @property
    def part(self) -> str | None:
        """The spare it takes: a cartridge goes by the name of its stage."""
        return self.task.part_on(self.rule.stage)


def duties_of(scenario: Scenario, policy: Policy) -> list[Duty]:
    """Return the rules of a policy as they begin.

    Refused when a rule does not go with the tasks and stages of the site, or can never fall due.
    """
    try:
        check_policy(policy, scenario.tasks, scenario.stage_names)
    except ValueError as error:
        raise InputError(str(error)) from None
    tasks = {task.name: task for task in scenario.tasks}
    return [
        Duty(
            rule,
            tasks[rule.task],
            -1 if rule.stage is None else scenario.stage_names.index(rule.stage),
            row_of(scenario, rule.task, rule.stage),
        )
        for rule in policy.rules
    ]


def until_hour_s(now_s: float, hour: float) -> float:
    """Return the wait until an hour of the clock comes next.

    Returns
    -------
    float
        Wait [s], 0 to one day.

    Examples
    --------
    >>> until_hour_s(9 * 3600.0, 10.0)
    3600.0
    """
    return float((hour * HOUR_S - now_s) % DAY_S)
