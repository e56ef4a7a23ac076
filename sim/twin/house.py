"""What wear and faults see of the house they change; the world of a run is one such."""

from typing import Any, Protocol

import numpy as np
import simpy

from sim.scenario.care import Task
from sim.scenario.scenario import Scenario
from sim.twin.records import Lapse


class House(Protocol):
    """Plant, water and parts of one run, as `sim.twin.world.World` holds them."""

    env: simpy.Environment
    scenario: Scenario
    s: Any  # records of the plant's state, the plant, the water, and what stays the same
    p: Any
    w: Any
    c: Any
    f: Any
    stages: np.ndarray
    loads: np.ndarray
    ledger: np.ndarray
    installed_s: list[float]
    parts: dict[str, Any]
    lapses: list[Lapse]
    waiting: dict[int, Lapse]  # tasks put off or late
    faults: Any  # `sim.twin.people.faults.Faults`, which knows houses, not the other way round
    working: Task | None
    precharge_pa: float
    stuck_m3: float

    def note(self, kind: str, subject: str, **more: float | str) -> None:
        """Write a line in the diary."""
