"""What people left wrong at the train, and what the physics makes of it."""

from dataclasses import dataclass, field

import numpy as np
import simpy

from sim.plant import bypass, fixture, pipe, train
from sim.scenario.care import Task
from sim.scenario.effects import SlipEffect
from sim.scenario.procedure import Slip
from sim.twin.house import House
from sim.twin.records import Lapse
from sim.twin.water import transport

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
    share: float = 1.0  # of the water that still goes through the train
    _swapped: tuple[int, int] | None = None
    _catch: np.ndarray | None = None  # as the cartridges are, while the bypass is open
    _carbon: np.ndarray | None = None

    def has(self, effect: SlipEffect) -> bool:
        """Return whether a slip of some effect stands."""
        return any(fault.slip.effect == effect for fault in self.standing)

    def stands(self, name: str) -> bool:
        """Return whether a slip of a name stands."""
        return any(fault.slip.name == name for fault in self.standing)

    def begin(self, world: House, fault: Fault) -> None:
        """Let a slip stand."""
        self.standing.append(fault)
        world.lapses.append(fault.lapse)
        effect, stage = fault.slip.effect, fault.lapse.stage
        if effect == "bypass open":
            self._catch = world.catch.copy()
            self._carbon = np.stack([world.stages["initial"], world.stages["floor"]])
        elif effect == "cartridges swapped":
            self._swapped = (stage, twin_stage(world, stage))
            self._swap(world, *self._swapped)
        elif effect == "cartridge missing":
            world.stages[stage]["linear"] *= EMPTY_SHARE
            world.stages[stage]["torn"] = 1  # catches nothing, takes no colour

    def end(self, world: House, fault: Fault) -> None:
        """Put a slip right."""
        self.standing.remove(fault)
        fault.lapse.end_s = world.env.now
        effect, stage = fault.slip.effect, fault.lapse.stage
        if effect == "bypass open" and self._catch is not None and self._carbon is not None:
            world.catch, self.share = self._catch, 1.0
            world.stages["initial"], world.stages["floor"] = self._carbon
            self._catch = self._carbon = None
        elif effect == "cartridges swapped" and self._swapped is not None:
            self._swap(world, *self._swapped)
            self._swapped = None
        elif effect == "cartridge missing":
            world.stages[stage]["linear"] /= EMPTY_SHARE
            world.stages[stage]["torn"] = 0

    def _swap(self, world: House, one: int, other: int) -> None:
        """Change two cartridges for one another, with what they have caught."""
        order = [one, other]
        tables = [world.stages, world.catch, world.loads]
        if self._catch is not None:
            tables.append(self._catch)
        for table in tables:
            table[order] = table[order[::-1]]
        if self._carbon is not None:
            self._carbon[:, order] = self._carbon[:, order[::-1]]
        installed = world.installed_s
        installed[one], installed[other] = installed[other], installed[one]

    def finish(self, world: House) -> None:
        """Lay cartridges back in their order, so that the end of a run counts each by its own price."""
        if self._swapped is not None:
            self._swap(world, *self._swapped)

    def set_valves(self, world: House, task: Task | None) -> None:
        """Set valves, plugs and the pump switch as they stand now."""
        p, parts = world.p, world.parts
        unplugged = (task is not None and task.unplugs_uv) or self.has("unit dark")
        shut = (task is not None and task.shuts_water) or self.has("water shut")
        p["lamp_works"] = int(not unplugged and not parts["lamp"].broken)
        p["shut"] = int(shut and not self.has("bypass open"))
        p["pump_works"] = int(not parts["pump"].broken and not self.has("pump off"))
        leak_m3_s = sum(fault.slip.leak_m3_s for fault in self.standing)
        house = world.scenario.house
        p["leak_coefficient"] = fixture.coefficient(house.leak_m3_s + leak_m3_s, house.leak_reference_pa)

    def plug_in(self, world: House) -> None:
        """Start the lamp, unless the unit is left unplugged or the lamp is broken."""
        if self.has("unit dark"):
            return
        world.p["lamp_works"] = int(not world.parts["lamp"].broken)
        world.s["lamp_starts"] += 1
        world.s["warm_at_s"] = world.env.now + world.scenario.uv.warm_up_s

    def after_pumping(self, world: House, pumped_m3: float) -> None:
        """Take back what the stages were booked for water that went round them."""
        world.stages["passed_m3"] -= (1.0 - self.share) * pumped_m3
        world.s["peak_flow_m3_s"] *= self.share

    def impose(self, world: House) -> None:
        """Lay what stands over the plant as wear and water have made it."""
        p, w = world.p, world.w
        if self.has("unit dark"):
            w["reading"], p["alarm"] = 0.0, 0  # nothing is lit, nothing sounds
        elif not world.parts["lamp"].broken:
            for fault in self.standing:
                w["reading"] *= fault.slip.reading_left
            p["alarm"] = int(w["reading"] < world.c["alarm"])
        if self.has("bypass open"):
            self._open_bypass(world)

    def _open_bypass(self, world: House) -> None:
        """Let water go round the train: every litre at the taps holds some of it, so none counts as dosed."""
        p, house = world.p, world.scenario.house
        flow_m3_s = float(world.w["drop_flow_m3_s"])
        round_pa_s2_m6 = pipe.quadratic_pa_s2_m6(
            flow_m3_s,
            0.0,
            house.pipe_bore_m,
            house.pipe_roughness_m,
            house.bypass_k,
            p["density_kg_m3"],
            1e-3,
        )
        outside = float(world.c["pipe_quadratic"])
        closed = bool(world.working and world.working.shuts_water) or self.has("water shut")
        inside = float(p["quadratic_pa_s2_m6"]) - outside
        linear = float(p["linear_pa_s_m3"])
        self.share = 0.0 if closed else bypass.train_share(flow_m3_s, linear, inside, round_pa_s2_m6)
        p["linear_pa_s_m3"] = 0.0
        p["quadratic_pa_s2_m6"] = outside + round_pa_s2_m6 * (1.0 - self.share) ** 2
        drop_pa = train.drop_pa(transport.TRICKLE_M3_S, 0.0, float(p["quadratic_pa_s2_m6"]))
        p["trickle_pa"] = p["static_pa"] + drop_pa
        p["dose_flow"] = 0.0
        if self._catch is not None and self._carbon is not None:
            world.catch = caught_with_bypass(self._catch, world.stages["torn"] > 0, self.share)
            world.stages["initial"], world.stages["floor"] = self.share * self._carbon


def caught_with_bypass(catch: np.ndarray, torn: np.ndarray, share: float) -> np.ndarray:
    """Return what each stage catches of all the water when a share of it goes through the train.

    Examples
    --------
    >>> caught_with_bypass(np.array([[0.5], [0.5]]), np.array([False, False]), 0.5).ravel().tolist()
    [0.25, 0.16667]
    """
    found = np.zeros_like(catch)
    inside, everywhere = np.full(catch.shape[1], share), np.ones(catch.shape[1])
    for i, efficiency in enumerate(catch):
        if torn[i]:
            continue
        taken = inside * efficiency
        found[i] = taken / everywhere
        inside, everywhere = inside - taken, everywhere - taken
    return found


def twin_stage(world: House, stage: int) -> int:
    """Return the stage whose cartridge fits the housing of another."""
    stages = world.scenario.stages
    fits = [
        i
        for i, other in enumerate(stages)
        if i != stage and (other.size, other.housings) == (stages[stage].size, stages[stage].housings)
    ]
    return min(fits, key=lambda i: abs(i - stage), default=-1)
