"""What of a house decides what happens to it whoever looks after it: those that share it share their fate."""

from dataclasses import dataclass
from datetime import date

from sim.constants import YEAR_S
from sim.scenario.catchment import RainSource
from sim.scenario.house import House, PowerSupply
from sim.scenario.procedure import expanded
from sim.scenario.scenario import Scenario


@dataclass(frozen=True)
class Basis:
    """What of a scenario its common inputs are drawn from; the rest of the house does not touch them."""

    start: date
    rain: RainSource
    house: House
    power: PowerSupply
    film_spread: float
    tasks: int
    stages: tuple[str, ...]
    steps: int  # of the longest procedure
    other_jobs_per_s: float


def basis_of(scenario: Scenario) -> Basis:
    """Return what of a scenario its common inputs are drawn from."""
    return Basis(
        start=scenario.start,
        rain=scenario.rain,
        house=scenario.house,
        power=scenario.power,
        film_spread=scenario.uv.film_spread,
        tasks=len(scenario.tasks),
        stages=tuple(stage.name for stage in scenario.stages),
        steps=max((len(expanded(one, scenario.blocks)) for one in scenario.procedures), default=1),
        other_jobs_per_s=scenario.people.technician_other_jobs_per_year / YEAR_S,
    )
