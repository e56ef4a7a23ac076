"""What wear and faults see of the house they change; the world of a run is one such."""

from typing import Any, Protocol

import numpy as np
import simpy

from sim.scenario.care import Task
from sim.scenario.scenario import Scenario
from sim.twin.records import Lapse


class Changeable(Protocol):
    """Plant, water and parts of one run, as `sim.twin.world.World` holds them."""

    env: simpy.Environment
    scenario: Scenario
    s: Any  # parts of the record of the house: state, plant, and what people left wrong
    p: Any
    w: Any
    c: Any
    f: Any
    house: np.ndarray
    clock: Any
    parts: dict[str, Any]
    pump_at: int  # place of the pump among the parts
    standby: Any  # `sim.twin.standby.Standby`
    stages: np.ndarray
    loads: np.ndarray
    days: np.ndarray
    ledger: np.ndarray
    installed_s: list[float]
    lapses: list[Lapse]
    waiting: dict[int, Lapse]  # tasks put off or late
    faults: Any  # `sim.twin.people.faults.Faults`, which knows houses, not the other way round
    working: Task | None
    stuck_m3: float

    def note(self, kind: str, subject: str, **more: float | str) -> None:
        """Write a line in the diary."""

    def life_s(self, name: str, number: int) -> float:
        """Return the life of the part of a name that is put in as so manyth."""

    def renew(self, name: str) -> None:
        """Put in a new part."""
