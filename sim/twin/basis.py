"""What of a house decides what happens to it whoever looks after it: those that share it share their fate."""

from collections.abc import Iterator
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
    on_stages: tuple[str, ...]  # names of the streams of tasks on stages
    steps: int  # of the longest procedure
    other_jobs_per_s: float


def basis_of(scenario: Scenario) -> Basis:
    """Return what of a scenario its common inputs are drawn from."""
    back = () if scenario.back is None else (scenario.back,)
    return Basis(
        start=scenario.start,
        rain=scenario.rain,
        house=scenario.house,
        power=scenario.power,
        film_spread=scenario.uv.film_spread,
        tasks=len(scenario.tasks),
        stages=scenario.stage_names,
        on_stages=tuple(_on_stages(scenario)),
        steps=max([1, *(len(expanded(one, scenario.blocks)) for one in (*scenario.tasks, *back))]),
        other_jobs_per_s=scenario.people.technician_other_jobs_per_year / YEAR_S,
    )


def _on_stages(scenario: Scenario) -> Iterator[str]:
    """Yield a name for each task on each stage; the first such task goes by the stage alone."""
    for number, task in enumerate(task for task in scenario.tasks if task.on_stage):
        yield from (f"{task.name}: {stage}" if number else stage for stage in scenario.stage_names)


def row_of(scenario: Scenario, task: str, stage: str | None) -> int:
    """Return the row of a task, on a stage or on none, in the tables of chance of `Basis`."""
    if stage is None:
        return [one.name for one in scenario.tasks].index(task)
    on_stage = [one.name for one in scenario.tasks if one.on_stage]
    at = on_stage.index(task) * len(scenario.stages) + scenario.stage_names.index(stage)
    return len(scenario.tasks) + at
