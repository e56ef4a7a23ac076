"""What people left wrong at the train, and what the physics makes of it."""

import math
from dataclasses import dataclass, field

import simpy

from sim.plant import fixture
from sim.scenario.care import Task
from sim.scenario.effects import SlipEffect
from sim.scenario.procedure import Slip
from sim.twin import lamps
from sim.twin.changeable import Changeable
from sim.twin.records import Lapse

EMPTY_SHARE = 0.02  # of a clean cartridge's resistance, in a housing without one [A]


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

    def has(self, effect: SlipEffect) -> bool:
        """Return whether a slip of some effect stands."""
        return bool(self.standing) and any(fault.slip.effect == effect for fault in self.standing)

    def stands(self, name: str) -> bool:
        """Return whether a slip of a name stands."""
        return any(fault.slip.name == name for fault in self.standing)

    def standing_names(self) -> list[str]:
        """Return the names of what stands."""
        return [fault.slip.name for fault in self.standing]

    def begin(self, world: Changeable, fault: Fault) -> None:
        """Let a slip stand."""
        self.standing.append(fault)
        world.lapses.append(fault.lapse)
        effect, stage = fault.slip.effect, fault.lapse.stage
        if effect == "cartridges swapped":
            self._swapped = (stage, twin_stage(world, stage))
            _swap(world, *self._swapped)
        elif effect == "cartridge missing":
            world.stages[stage]["linear"] *= EMPTY_SHARE
            world.stages[stage]["torn"] = 1  # catches nothing, takes no colour
        self._tell(world)

    def end(self, world: Changeable, fault: Fault) -> None:
        """Put a slip right."""
        self.standing.remove(fault)
        fault.lapse.end_s = world.env.now
        effect, stage = fault.slip.effect, fault.lapse.stage
        if effect == "cartridges swapped" and self._swapped is not None:
            _swap(world, *self._swapped)
            self._swapped = None
        elif effect == "cartridge missing":
            world.stages[stage]["linear"] /= EMPTY_SHARE
            world.stages[stage]["torn"] = 0
        self._tell(world)

    def _tell(self, world: Changeable) -> None:
        """Tell the physics what stands (`sim.twin.water.transport.refresh` reads it)."""
        f = world.f
        f["reading_left"] = math.prod(fault.slip.reading_left for fault in self.standing)
        f["unplugged"] = self.has("unit dark")
        f["bypass_open"] = self.has("bypass open")
        at_work = world.working is not None and world.working.shuts_water
        f["train_shut"] = at_work or self.has("water shut")
        if not f["bypass_open"]:
            f["share"] = 1.0

    def finish(self, world: Changeable) -> None:
        """Lay cartridges back in their order, so that the end of a run counts each by its own price."""
        if self._swapped is not None:
            _swap(world, *self._swapped)

    def set_valves(self, world: Changeable, task: Task | None) -> None:
        """Set valves, plugs and the pump switch as they stand now."""
        p, parts = world.p, world.parts
        unplugged = (task is not None and task.unplugs_uv) or self.has("unit dark")
        shut = (task is not None and task.shuts_water) or self.has("water shut")
        p["lamp_works"] = int(not unplugged and lamps.work(world))
        p["shut"] = int(shut and not self.has("bypass open"))
        works = not parts["pump"]["broken"] and not self.has("pump off")
        p["pump_works"] = int(works and not p["gravity"])
        leak_m3_s = sum(fault.slip.leak_m3_s for fault in self.standing)
        house = world.scenario.house
        p["leak_coefficient"] = fixture.coefficient(house.leak_m3_s + leak_m3_s, house.leak_reference_pa)
        self._tell(world)

    def plug_in(self, world: Changeable) -> None:
        """Start the lamp, unless the unit is left unplugged or the lamp is broken."""
        if self.has("unit dark"):
            return
        world.p["lamp_works"] = lamps.work(world)
        world.s["lamp_starts"] += 1
        world.s["warm_at_s"] = world.env.now + world.scenario.uv.warm_up_s


def _swap(world: Changeable, one: int, other: int) -> None:
    """Change two cartridges for one another, with what they have caught."""
    world.stages[[one, other]] = world.stages[[other, one]]
    installed = world.installed_s
    installed[one], installed[other] = installed[other], installed[one]


def twin_stage(world: Changeable, stage: int) -> int:
    """Return the stage whose cartridge fits the housing of another."""
    stages = world.scenario.stages
    fits = [
        i
        for i, other in enumerate(stages)
        if i != stage and (other.size, other.housings) == (stages[stage].size, stages[stage].housings)
    ]
    return min(fits, key=lambda i: abs(i - stage), default=-1)
