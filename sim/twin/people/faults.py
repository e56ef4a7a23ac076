"""What people left wrong at the train, and what the physics makes of it."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import simpy

from sim.plant import fixture
from sim.scenario.care import Task
from sim.scenario.procedure import Slip

if TYPE_CHECKING:
    from sim.twin.world import World

EMPTY_SHARE = 0.02  # of a clean cartridge's resistance, in a housing without one [A]
AT_STAGE = ("stages in the wrong order", "cartridge left out")


@dataclass
class Lapse:
    """One thing people did wrong, or put off: from when to when, and how it was noticed."""

    kind: str  # "slip", "put off" or "late"
    subject: str  # name of the slip, or of the task
    touches: tuple[str, ...]  # "water", "dose", "reading"
    start_s: float
    task: str = ""
    step: str = ""
    who: str = ""
    row: int = -1  # of the task in the tables of chance
    stage: int = -1
    noticed_s: float = math.inf
    route: str = ""
    end_s: float = math.inf


@dataclass
class Fault:
    """A slip that stands: its lapse in the diary, what it does, and the event of its being noticed."""

    slip: Slip
    lapse: Lapse
    noticed: simpy.Event
    mending: bool = False


@dataclass
class Faults:
    """Slips that stand now, and what they make of valves, plugs, readings and stages."""

    standing: list[Fault] = field(default_factory=list)
    _swapped: tuple[int, int] | None = None

    def has(self, name: str) -> bool:
        """Return whether a slip stands."""
        return any(fault.slip.name == name for fault in self.standing)

    def begin(self, world: World, fault: Fault) -> None:
        """Let a slip stand."""
        self.standing.append(fault)
        world.lapses.append(fault.lapse)
        name, stage = fault.slip.name, fault.lapse.stage
        if name == "stages in the wrong order":
            self._swapped = (stage, twin_stage(world, stage))
            _swap(world, *self._swapped)
        elif name == "cartridge left out":
            world.stages[stage]["linear"] *= EMPTY_SHARE
            world.stages[stage]["torn"] = 1  # catches nothing, takes no colour
        self._tell(world)

    def end(self, world: World, fault: Fault) -> None:
        """Put a slip right."""
        self.standing.remove(fault)
        fault.lapse.end_s = world.env.now
        name, stage = fault.slip.name, fault.lapse.stage
        if name == "stages in the wrong order" and self._swapped is not None:
            _swap(world, *self._swapped)
            self._swapped = None
        elif name == "cartridge left out":
            world.stages[stage]["linear"] /= EMPTY_SHARE
            world.stages[stage]["torn"] = 0
        self._tell(world)

    def _tell(self, world: World) -> None:
        """Tell the physics what stands (`sim.twin.water.transport.refresh` reads it)."""
        f = world.f
        f["reading_left"] = math.prod(fault.slip.reading_left for fault in self.standing)
        f["unplugged"] = self.has("unit left unplugged")
        f["bypass_open"] = self.has("bypass left open")
        f["train_shut"] = (world.working is not None and world.working.shuts_water) or self.has(
            "valve left shut"
        )
        if not f["bypass_open"]:
            f["share"] = 1.0

    def finish(self, world: World) -> None:
        """Lay cartridges back in their order, so that the end of a run counts each by its own price."""
        if self._swapped is not None:
            _swap(world, *self._swapped)

    def set_valves(self, world: World, task: Task | None) -> None:
        """Set valves, plugs and the pump switch as they stand now."""
        p, parts = world.p, world.parts
        unplugged = (task is not None and task.unplugs_uv) or self.has("unit left unplugged")
        shut = (task is not None and task.shuts_water) or self.has("valve left shut")
        p["lamp_works"] = int(not unplugged and not parts["lamp"]["broken"])
        p["shut"] = int(shut and not self.has("bypass left open"))
        p["pump_works"] = int(not parts["pump"]["broken"] and not self.has("pump left off"))
        leak_m3_s = sum(fault.slip.leak_m3_s for fault in self.standing)
        house = world.scenario.house
        p["leak_coefficient"] = fixture.coefficient(house.leak_m3_s + leak_m3_s, house.leak_reference_pa)
        self._tell(world)

    def plug_in(self, world: World) -> None:
        """Start the lamp, unless the unit is left unplugged or the lamp is broken."""
        if self.has("unit left unplugged"):
            return
        world.p["lamp_works"] = int(not world.parts["lamp"]["broken"])
        world.s["lamp_starts"] += 1
        world.s["warm_at_s"] = world.env.now + world.scenario.uv.warm_up_s


def _swap(world: World, one: int, other: int) -> None:
    """Change two cartridges for one another, with what they have caught."""
    world.stages[[one, other]] = world.stages[[other, one]]
    installed = world.installed_s
    installed[one], installed[other] = installed[other], installed[one]


def twin_stage(world: World, stage: int) -> int:
    """Return the stage whose cartridge fits the housing of another."""
    stages = world.scenario.stages
    fits = [
        i
        for i, other in enumerate(stages)
        if i != stage and (other.size, other.housings) == (stages[stage].size, stages[stage].housings)
    ]
    return min(fits, key=lambda i: abs(i - stage), default=-1)
