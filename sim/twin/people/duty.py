"""A rule of the policy with its memory, and the hour of the clock at which people come to it."""

import math
from collections.abc import Generator
from dataclasses import dataclass
from typing import Any

import simpy

from sim.constants import DAY_S, HOUR_S
from sim.scenario.care import Rule, Task

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
    occasions: int = 0
    worked_s: float = -math.inf  # when it was last done in fact
    left: bool = False  # asked for in a span in which nobody does it

    @property
    def label(self) -> str:
        """What the diary calls it."""
        return self.task.name + (f": {self.rule.stage}" if self.rule.stage else "")


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
