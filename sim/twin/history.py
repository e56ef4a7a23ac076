"""What a run wrote: frozen, with everything the outcome is measured from."""

from dataclasses import dataclass, field
from datetime import date

import numpy as np
import numpy.typing as npt

from sim.scenario.scenario import Scenario
from sim.twin.records import Chance, Costs, Event, Lapse, Part

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Balance:
    """Ledger of one substance: started + in = stored + out, in its own unit."""

    name: str
    started: float
    came_in: float
    house: float
    spilled: float
    removed: float
    stored: float

    @property
    def error(self) -> float:
        """Imbalance over throughput."""
        given = self.started + self.came_in
        return abs(given - self.house - self.spilled - self.removed - self.stored) / max(given, 1e-12)


@dataclass(frozen=True)
class History:
    """One run of one policy in one replication."""

    scenario: Scenario
    policy: str
    replication: int
    years: int
    n_days: int
    start: date
    stage_names: tuple[str, ...]
    use_names: tuple[str, ...]
    draws: npt.NDArray[np.void]  # records of sim.plant.draws.DRAW
    use: npt.NDArray[np.int16]
    pump_runs_s: Floats  # (n, 2) start and stop
    days: Floats  # columns of sim.plant.state.DAY_COLUMNS
    causes: Floats  # by day, cause and measure of sim.plant.cause
    rain_m: Floats
    cistern_m3: Floats
    overflow_m3: Floats  # of each day
    mains_m3: Floats  # let in through the air gap, of each day
    uv_reading: Floats
    water_c: Floats
    absorbance_per_m: Floats
    drops_pa: Floats  # (days, stages) at reading flow
    cut_days: npt.NDArray[np.bool_]  # with a power cut, or just after one
    alarm_days: npt.NDArray[np.bool_]
    dose_volume_m3: Floats
    events: tuple[Event, ...]
    lapses: tuple[Lapse, ...]  # steps missed, tasks put off or late
    costs: Costs
    parts: dict[str, Part]
    stage_life_left: Floats
    lamp_life_left: float
    alarms: int
    false_alarms: int
    pump_j: float
    lit_s: float
    balances: tuple[Balance, ...]
    trace: Floats
    cuts_s: Floats = field(default_factory=lambda: np.zeros((0, 2)))  # power cuts: start and end
    lamps_over_count: float = 0.0  # lamps that failed, less those that were to be expected
    chances: tuple[Chance, ...] = ()
    visits_s: Floats = field(default_factory=lambda: np.zeros(0))  # of work for which water was shut
