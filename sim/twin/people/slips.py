"""Steps that people miss, and tasks put off: what begins to stand, and from when."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import simpy

from sim.constants import DAY_S
from sim.scenario.care import Person, Task
from sim.scenario.effects import ALONE, AT_ONCE, WIPES
from sim.scenario.procedure import FittingName, PartName, Route, Slip, Step, expanded
from sim.scenario.scenario import Scenario
from sim.twin.people import chances as known
from sim.twin.people.faults import Fault, twin_stage
from sim.twin.people.noticing import Noticing, Pay
from sim.twin.people.samples import Samples
from sim.twin.records import Chance, Lapse
from sim.twin.world import World

WHO: tuple[Person, ...] = ("owner", "technician")
_WET: dict[FittingName | PartName, str] = {"housing": "open", "UV chamber": "open", "sensor": "out"}


@dataclass(frozen=True)
class _Plan:
    """Where the steps of a task that can be missed stand in the tables of chance."""

    columns: np.ndarray  # of steps with a slip
    factors: np.ndarray
    slips: tuple[tuple[Step, Slip], ...]
    finders: tuple[tuple[int, Step], ...]  # column and step


@dataclass(frozen=True)
class _Missed:
    step: Step
    slip: Slip
    row: int
    stage: int
    task: str
    who: str
    wait: np.ndarray  # of unit mean, one for each way of noticing


class Slips:
    """What goes wrong in people's hands, under one policy."""

    def __init__(self, world: World, hands: simpy.Resource, pay: Pay):
        """Look up which steps can be missed."""
        self.world, self.env, self.pay = world, world.env, pay
        sc = world.scenario
        self.chance: dict[str, float] = {who: sc.people.slips.of(who) for who in WHO}
        self.plans, self.left_chances = _planned(sc)
        self.times_done: dict[int, int] = {}
        self.noticing = Noticing(world, hands, pay)
        self.samples = Samples(world, self.noticing, pay)

    def start(self, task: Task, row: int, stage: int, who: str) -> list[_Missed]:
        """Begin a piece of work: what it finds is put right, water is shut, the unit unplugged.

        Parameters
        ----------
        who : str
            "owner" or "technician".
        """
        world = self.world
        if world.faults.standing and task.shuts_water:
            self.noticing.visited(task, who)
        standing = world.faults.standing_names()
        times = self.times_done.get(row, 0)
        self.times_done[row] = times + 1
        missed = self._missed(task, row, stage, who, times) if self.chance[who] > 0.0 else []
        self._note_chances(task, who, standing, missed)
        world.working = task
        for one in missed:
            if one.slip.effect in AT_ONCE:
                self._begin(one)
        world.faults.set_valves(world, task)
        if world.faults.standing:
            world.refresh()
        return missed

    def leave(self, missed: Sequence[_Missed]) -> None:
        """End a piece of work: what was missed stands from now on."""
        for one in missed:
            if one.slip.effect not in AT_ONCE:
                self._begin(one)

    def left(self, task: Task, row: int, stage: int, kind: str) -> None:
        """Note that a task that was asked for waits.

        Parameters
        ----------
        kind : str
            "put off" or "late".
        """
        if row in self.world.waiting:
            return
        touches: tuple[str, ...] = task.touches
        if self.world.scenario.uv.shutoff_valve and {"dose", "reading"} & set(touches):
            touches = (*touches, "water")  # what dims the reading shuts the valve
        lapse = Lapse(kind, task.name, touches, self.env.now, task=task.name, row=row, stage=stage)
        self.world.waiting[row] = lapse
        self.world.lapses.append(lapse)

    def done(self, task: Task, row: int) -> None:
        """Note that a task was done after all; a sample goes to the laboratory."""
        lapse = self.world.waiting.pop(row, None)
        if lapse is not None:
            lapse.end_s = self.env.now
            if lapse.kind == "late" and lapse.end_s - lapse.start_s < DAY_S:
                self.world.lapses.remove(lapse)  # done on the day it was asked for
        if WIPES & set(task.effects):
            self.noticing.wiped_s = self.env.now
        if "sample" in task.effects and self.world.scenario.sample is not None:
            self.env.process(self.samples.laboratory())

    def _missed(self, task: Task, row: int, stage: int, who: str, times: int) -> list[_Missed]:
        """Return the slips of one piece of work that no later step brings to light."""
        plan, common = self.plans[task.name], self.world.common
        at = times % common.slips.shape[1]
        chances, chance = common.slips[row, at], self.chance[who]
        found: dict[str, _Missed] = {}
        for i in np.flatnonzero(chances[plan.columns] < chance * plan.factors):
            (step, slip), column = plan.slips[i], int(plan.columns[i])
            if slip.name in found or not self._possible(slip, stage, found):
                continue
            finder = self._found_at_once(slip.name, column, plan, chances, chance)
            if finder is not None:
                self.world.note("slip", slip.name, note=f"{step.id}: put right on the spot ({finder})")
                continue
            wait = np.roll(common.noticing[row, at], -column)
            found[slip.name] = _Missed(step, slip, row, stage, task.name, who, wait)
        return list(found.values())

    def _note_chances(self, task: Task, who: str, standing: list[str], missed: Sequence[_Missed]) -> None:
        """Keep how likely this work was to leave undosed water, and what it left."""
        world, now = self.world, self.env.now
        if task.shuts_water:
            world.visits_s.append(now)
        waits = {one.slip.name: one.wait for one in missed}
        every_s = world.policy.reading_every_s or np.inf
        for slip, route, probability in self.left_chances[task.name, who]:
            if slip.name in standing or (slip.effect == "unit dark" and world.scenario.uv.shutoff_valve):
                continue
            number = list(slip.seen_by).index(route)
            dark = slip.effect == "unit dark"
            begin_s = now if slip.effect in AT_ONCE else now + task.minutes * 60.0
            wait = waits.get(slip.name)
            world.chances.append(
                Chance(
                    slip.name,
                    probability,
                    begin_s,
                    slip.seen_by[route],
                    slip.lead_s + slip.minutes * 60.0 + dark * world.scenario.uv.warm_up_s,
                    (begin_s // every_s + 1.0) * every_s if dark and np.isfinite(every_s) else np.inf,
                    "next visit" in slip.seen_by,
                    np.nan if wait is None else float(wait[number % wait.size]),
                )
            )

    def _possible(self, slip: Slip, stage: int, found: dict[str, _Missed]) -> bool:
        faults, begun = self.world.faults, {one.slip.effect for one in found.values()}
        if faults.stands(slip.name):
            return False
        if slip.effect in ALONE and (faults.has(slip.effect) or slip.effect in begun):
            return False
        if slip.effect == "cartridges swapped":
            return stage >= 0 and twin_stage(self.world, stage) >= 0
        if slip.effect == "cartridge missing":
            return stage >= 0 and "cartridges swapped" not in begun
        return True

    @staticmethod
    def _found_at_once(name: str, column: int, plan: _Plan, chances: np.ndarray, chance: float) -> str | None:
        """Return the later step that brings a slip to light, done by the same person who made it."""
        missed_too = known.missed_too(chance)
        for at, step in plan.finders:
            if at > column and name in step.finds and chances[at] >= missed_too:
                return step.id
        return None

    def _begin(self, one: _Missed) -> None:
        world, slip = self.world, one.slip
        lapse = Lapse(
            "slip",
            slip.name,
            slip.touches,
            self.env.now,
            one.task,
            one.step.id,
            one.who,
            one.row,
            one.stage,
        )
        world.note("slip", slip.name, note=f"{one.task}: {one.step.id} (by {one.who})")
        if slip.effect == "spill under pressure":
            self._spill(slip, lapse)
            return
        fault = Fault(slip, lapse, self.env.event())
        world.faults.begin(world, fault)
        for number, route in enumerate(slip.seen_by):
            if route in ("no water", "display", "wet floor", "taps"):
                self.env.process(
                    self.noticing.until_seen(fault, route, float(one.wait[number % one.wait.size]))
                )
        if slip.dries_s is not None:
            self.env.process(self.noticing.dries(fault, slip.dries_s))

    def _spill(self, slip: Slip, lapse: Lapse) -> None:
        world = self.world
        lost_m3 = min(slip.spill_m3, float(world.s["water_m3"]))
        world.s["water_m3"] -= lost_m3
        world.spilled_m3 += lost_m3
        lapse.noticed_s = lapse.end_s = self.env.now
        lapse.route = "at once"
        world.lapses.append(lapse)
        world.note("slip noticed", slip.name, value=lost_m3, unit="m3", note="at once: someone may be hurt")
        self.pay(slip.minutes / 60.0, lapse.who, slip.price)


_Plans = tuple[dict[str, _Plan], dict[tuple[str, str], tuple[tuple[Slip, Route, float], ...]]]
_last: list[tuple[Scenario, _Plans]] = []  # the policies of a house run one after the other


def _planned(scenario: Scenario) -> _Plans:
    """Return the plan of each task, and by task and who does it what it can leave and how likely."""
    if not (_last and _last[0][0] is scenario):
        named = {slip.name: slip for slip in scenario.slips}
        plans = {task.name: _plan(scenario, task.name, named) for task in scenario.tasks}
        left: dict[tuple[str, str], tuple[tuple[Slip, Route, float], ...]] = {
            (task, who): _left(plan, scenario.people.slips.of(who))
            for task, plan in plans.items()
            for who in WHO
        }
        _last[:] = [(scenario, (plans, left))]
    return _last[0][1]


def _plan(scenario: Scenario, task: str, known: dict[str, Slip]) -> _Plan:
    """Return where the steps of a task stand; a step the train lacks keeps its column."""
    procedure = scenario.procedure(task)
    whole = expanded(procedure, scenario.blocks) if procedure else ()
    here = {step.id for step in scenario.steps(task)}
    steps = [(column, step) for column, step in enumerate(whole) if step.id in here]
    opens = any(step.operates.get(part) == at for _, step in steps for part, at in _WET.items())
    slips = [
        (column, step, known[step.slip])
        for column, step in steps
        if step.slip is not None and (opens or known[step.slip].effect != "spill under pressure")
    ]
    return _Plan(
        np.array([column for column, _, _ in slips], dtype=np.int64),
        np.array([slip.chance_factor for _, _, slip in slips]),
        tuple((step, slip) for _, step, slip in slips),
        tuple((column, step) for column, step in steps if step.finds),
    )


def _left(plan: _Plan, chance: float) -> tuple[tuple[Slip, Route, float], ...]:
    """Return what a plan can leave that passes water undosed, how people come to mind it, and its chance."""
    found = []
    for name in dict.fromkeys(slip.name for _, slip in plan.slips):
        slip = next(slip for _, slip in plan.slips if slip.name == name)
        route: Route | None = next((route for route in ("display", "taps") if route in slip.seen_by), None)
        if slip.effect not in known.CHECKED or route is None or chance <= 0.0:
            continue
        steps = [
            (int(column), chance * float(factor))
            for column, factor, (_, one) in zip(plan.columns, plan.factors, plan.slips, strict=True)
            if one.name == name
        ]
        finders = {at for at, step in plan.finders if name in step.finds}
        last = max([*finders, *(column for column, _ in steps)])
        found.append((slip, route, known.left_chance(steps, finders, chance, last)))
    return tuple(found)
