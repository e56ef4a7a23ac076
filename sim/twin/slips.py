"""Steps that people miss, how it comes to notice, and how it is put right; tasks put off; samples."""

from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import simpy

from sim.constants import DAY_S
from sim.scenario.care import Task
from sim.scenario.procedure import RETURN, FittingName, PartName, Slip, Step, expanded
from sim.twin.faults import Fault, Lapse, twin_stage
from sim.twin.world import World
from sim.upkeep.sampling import positive_probability, surviving_share

Story = Generator[simpy.Event, Any, None]
DRY_AFTER_S = 60.0  # a tap that has given nothing for a minute
SEEN_DROP_SD = 2.0  # a drop that is short by so many errors of the gauge is seen
LOW_AGAIN = 1.1  # a reading this near to what the slip leaves of it is seen to be low [A]
# What a task bears on: days in which it was put off count as caused by people.
TOUCHES: dict[str, tuple[str, ...]] = {
    "wipe sleeve": ("dose",),
    "replace lamp": ("dose",),
    "change cartridge": ("dose", "water"),
    "wipe sensor window": ("reading",),
    "repair pump": ("water",),
    "repair pressure tank": ("water",),
}
_AT_STAGE = ("stages in the wrong order", "cartridge left out")
_OPENS_TRAIN = ("o-ring not seated", *_AT_STAGE)  # to be put right with the train shut and the unit unplugged
_WET: dict[FittingName | PartName, str] = {"housing": "open", "UV chamber": "open", "sensor": "out"}
_AT_ONCE = ("bypass left open", "opened under pressure")  # happen as the work begins, the others as it ends


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

    def __init__(self, world: World, hands: simpy.Resource, pay: Callable[[float, str, float], None]):
        """Look up which steps can be missed.

        Parameters
        ----------
        world : World
            The house.
        hands : simpy.Resource
            One piece of work at a time on the train.
        pay : callable
            Books hours, who worked, and the price of parts.
        """
        self.world, self.env, self.hands, self.pay = world, world.env, hands, pay
        sc = world.scenario
        self.chance = {who: sc.people.slips.of(who) for who in ("owner", "technician")}
        known: dict[str, Slip] = {slip.name: slip for slip in sc.slips}
        self.plans = {task.name: _plan(world, task.name, known) for task in sc.tasks}
        self.times_done: dict[int, int] = {}
        self.open: dict[int, Lapse] = {}  # tasks put off or late, by row
        self.sampled = 0
        self.wiped_s = -np.inf

    def start(self, task: Task, row: int, stage: int, who: str) -> list[_Missed]:
        """Begin a piece of work: what it finds is put right, water is shut, the unit unplugged.

        Parameters
        ----------
        task : Task
            What is done.
        row : int
            Its row in the tables of chance.
        stage : int
            Number of the stage, -1 for tasks that are not on a stage.
        who : str
            "owner" or "technician".

        Returns
        -------
        list
            Steps that will be missed, for `leave`.
        """
        world = self.world
        if world.faults.standing and task.shuts_water:
            self._visited(task, who)
        times = self.times_done.get(row, 0)
        self.times_done[row] = times + 1
        missed = self._missed(task, row, stage, who, times) if self.chance[who] > 0.0 else []
        world.working = task
        for one in missed:
            if one.slip.name in _AT_ONCE:
                self._begin(one)
        world.faults.set_valves(world, task)
        if world.faults.standing:
            world.refresh()
        return missed

    def leave(self, missed: Sequence[_Missed]) -> None:
        """End a piece of work: what was missed stands from now on.

        Parameters
        ----------
        missed : sequence
            From `start`.
        """
        for one in missed:
            if one.slip.name not in _AT_ONCE:
                self._begin(one)

    def left(self, task: Task, row: int, stage: int, kind: str) -> None:
        """Note that a task that was asked for waits.

        Parameters
        ----------
        task : Task
            What was asked for.
        row : int
            Its row in the tables of chance.
        stage : int
            Number of the stage, -1 for tasks that are not on a stage.
        kind : str
            "put off" or "late".
        """
        if row in self.open:
            return
        touches = TOUCHES.get(task.name, ())
        if self.world.scenario.uv.shutoff_valve and {"dose", "reading"} & set(touches):
            touches = (*touches, "water")  # what dims the reading shuts the valve
        lapse = Lapse(kind, task.name, touches, self.env.now, task=task.name, row=row, stage=stage)
        self.open[row] = lapse
        self.world.lapses.append(lapse)

    def done(self, task: Task, row: int) -> None:
        """Note that a task was done after all; a sample goes to the laboratory.

        Parameters
        ----------
        task : Task
            What was done.
        row : int
            Its row in the tables of chance.
        """
        lapse = self.open.pop(row, None)
        if lapse is not None:
            lapse.end_s = self.env.now
            if lapse.kind == "late" and lapse.end_s - lapse.start_s < DAY_S:
                self.world.lapses.remove(lapse)  # done on the day it was asked for
        if task.name.startswith("wipe"):
            self.wiped_s = self.env.now
        if task.name == "take sample" and self.world.scenario.sample is not None:
            self.env.process(self.laboratory())

    def read(self, drops: Sequence[float], uv_fraction: float) -> None:
        """Let a round of readings show what stands.

        Parameters
        ----------
        drops : sequence of float
            Drop over each stage as read [Pa].
        uv_fraction : float
            UV reading as read, over new and clean.
        """
        world = self.world
        for fault in list(world.faults.standing):
            slip, since_s = fault.slip, fault.lapse.start_s
            wiped = slip.name != "sensor overtightened" or self.wiped_s > since_s  # low in spite of a wipe
            low = slip.reading_left < 1.0 and uv_fraction < LOW_AGAIN * slip.reading_left and wiped
            if "no water" in slip.seen_by and self._dry():
                self.find(fault, "no water")  # a tap is opened to read the drops
            elif "display" in slip.seen_by and (low or slip.name == "unit left unplugged"):
                self.find(fault, "display")
            elif "taps" in slip.seen_by and self._drop_missing(drops):
                self.find(fault, "taps")

    def _drop_missing(self, drops: Sequence[float]) -> bool:
        least_pa = SEEN_DROP_SD * self.world.scenario.gauge.reading_sd_pa
        return any(self.world.clean_pa(i) - drop > least_pa for i, drop in enumerate(drops))

    def weak_taps(self) -> None:
        """Let taps that run weak lead to cartridges that stand in the wrong order."""
        for fault in list(self.world.faults.standing):
            if fault.slip.name == "stages in the wrong order":
                self.find(fault, "taps")

    def find(self, fault: Fault, route: str) -> None:
        """Notice a slip; somebody puts it right.

        Parameters
        ----------
        fault : Fault
            A slip that stands.
        route : str
            How it came to notice.
        """
        if fault.mending:
            return
        fault.mending = True
        self._noticed(fault, route)
        self.env.process(self.mend(fault))

    def mend(self, fault: Fault) -> Story:
        """Put a slip right: fetch the part, shut what must be shut, pay.

        Parameters
        ----------
        fault : Fault
            A slip that was noticed.
        """
        world, faults, slip = self.world, self.world.faults, fault.slip
        yield self.env.timeout(slip.lead_s)
        with self.hands.request() as free:
            yield free
            if fault not in faults.standing:
                return  # the work at hand has found it
            world.bring()
            opens = slip.name in _OPENS_TRAIN
            if opens:
                world.p["shut"], world.p["lamp_works"] = int(not faults.has("bypass left open")), 0
            yield self.env.timeout(slip.minutes * 60.0)
            world.bring()
            faults.end(world, fault)
            self._paid(fault, "owner")
            if opens or slip.name == "unit left unplugged":
                world.p["shut"] = int(not faults.has("bypass left open"))
                faults.plug_in(world)
                yield self.env.timeout(world.scenario.uv.warm_up_s)
                world.bring()
            faults.set_valves(world, None)
            world.refresh()

    def laboratory(self) -> Story:
        """Look at a sample: a find leads to what stands and to the return to service."""
        world, sample = self.world, self.world.scenario.sample
        assert sample is not None
        chance = world.common.samples[self.sampled % world.common.samples.size]
        self.sampled += 1
        probability = positive_probability(
            self._alive(sample.looks_back_s, sample.log_dose_j_m2),
            sample.raw_count,
            sample.false_positive_share,
        )
        yield self.env.timeout(sample.result_after_s)
        found = bool(chance < probability)
        world.costs.samples += 1
        world.costs.finds += found
        word = "coliforms found" if found else "none found"
        world.note("sample", "tap water", value=probability, unit="fraction", note=word)
        if not (found and sample.acted_on):
            return
        for fault in list(world.faults.standing):
            if "sample" in fault.slip.seen_by:
                self.find(fault, "sample")
        minutes = world.scenario.minutes(RETURN)
        self.pay(minutes / 60.0, "owner", sample.price)
        world.note("task", RETURN, value=minutes, unit="min", note="by owner", cost=sample.price)

    def _alive(self, looks_back_s: float, log_dose_j_m2: float) -> float:
        starts, now = self.world.common.draws.start_s, self.env.now
        recent = self.world.draws[np.searchsorted(starts, now - looks_back_s) : np.searchsorted(starts, now)]
        return surviving_share(recent["got_m3"], recent["dose_j_m2"], log_dose_j_m2)

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

    def _possible(self, slip: Slip, stage: int, found: dict[str, _Missed]) -> bool:
        if self.world.faults.has(slip.name):
            return False
        if slip.name == "stages in the wrong order":
            return stage >= 0 and twin_stage(self.world, stage) >= 0
        if slip.name == "cartridge left out":
            return stage >= 0 and "stages in the wrong order" not in found
        return True

    @staticmethod
    def _found_at_once(name: str, column: int, plan: _Plan, chances: np.ndarray, chance: float) -> str | None:
        """Return the later step that brings a slip to light, done by the same person who made it."""
        missed_too = (1.0 + 6.0 * chance) / 7.0  # moderate dependence, NUREG/CR-1278 eq. 10-16 [M]
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
        if "at once" in slip.seen_by:
            self._spill(slip, lapse)
            return
        fault = Fault(slip, lapse, self.env.event())
        world.faults.begin(world, fault)
        for number, route in enumerate(slip.seen_by):
            if route in ("no water", "display", "wet floor", "taps"):
                self.env.process(self._until_seen(fault, route, float(one.wait[number % one.wait.size])))
        if slip.dries_s is not None:
            self.env.process(self._dries(fault, slip.dries_s))

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

    def _until_seen(self, fault: Fault, route: str, wait: float) -> Story:
        """Wait until a slip shows, then until someone who is at home minds it."""
        if route == "no water":
            while True:
                yield from self._next_draw()
                if fault.mending:
                    return
                yield self.env.timeout(DRY_AFTER_S)
                self.world.bring()
                if self._dry():
                    break
                if not self._may_run_dry():
                    return
        yield self.env.timeout(wait * fault.slip.seen_by[route])  # type: ignore[index]
        yield from self._next_draw()
        if fault in self.world.faults.standing:
            self.find(fault, route)

    def _may_run_dry(self) -> bool:
        return bool(self.world.p["shut"] or self.world.p["valve"] or not self.world.p["pump_works"])

    def _dry(self) -> bool:
        """Return whether an open tap gives nothing."""
        p, s = self.world.p, self.world.s
        held = p["shut"] or (p["valve"] and not p["lamp_works"])
        return bool(held or (not p["pump_works"] and s["water_m3"] <= 0.0))

    def _next_draw(self) -> Story:
        """Wait until someone at home opens a tap; for ever when nobody does any more."""
        starts = self.world.common.draws.start_s
        at = int(np.searchsorted(starts, self.env.now, side="right"))
        yield self.env.timeout(float(starts[at]) - self.env.now if at < starts.size else np.inf)

    def _dries(self, fault: Fault, after_s: float) -> Story:
        yield self.env.timeout(after_s)
        if fault in self.world.faults.standing and not fault.mending:
            self.world.bring()
            self.world.faults.end(self.world, fault)
            self.world.note("slip over", fault.slip.name, note="by itself")
            self.world.refresh()

    def _visited(self, task: Task, who: str) -> None:
        """Put right, before other work, what whoever comes to the train sees."""
        for fault in list(self.world.faults.standing):
            sees = fault.slip.name not in _AT_STAGE or task.name == "change cartridge"
            if "next visit" in fault.slip.seen_by and sees:
                if not fault.mending:
                    self._noticed(fault, "next visit")
                fault.mending = True
                self.world.faults.end(self.world, fault)
                self._paid(fault, who)

    def _noticed(self, fault: Fault, route: str) -> None:
        fault.lapse.noticed_s, fault.lapse.route = self.env.now, route
        self.world.note("slip noticed", fault.slip.name, note=route)

    def _paid(self, fault: Fault, who: str) -> None:
        slip = fault.slip
        self.pay(slip.minutes / 60.0, who, slip.price)
        self.world.note(
            "slip mended", slip.name, value=slip.minutes, unit="min", note=f"by {who}", cost=slip.price
        )


def _plan(world: World, task: str, known: dict[str, Slip]) -> _Plan:
    """Return where the steps of a task stand; a step the train lacks keeps its column."""
    procedure = world.scenario.procedure(task)
    whole = expanded(procedure, world.scenario.blocks) if procedure else ()
    here = {step.id for step in world.scenario.steps(task)}
    steps = [(column, step) for column, step in enumerate(whole) if step.id in here]
    opens = any(step.operates.get(part) == at for _, step in steps for part, at in _WET.items())
    slips = [
        (column, step, known[step.slip])
        for column, step in steps
        if step.slip is not None and (opens or step.slip != "opened under pressure")
    ]
    return _Plan(
        np.array([column for column, _, _ in slips], dtype=np.int64),
        np.array([slip.chance_factor for _, _, slip in slips]),
        tuple((step, slip) for _, step, slip in slips),
        tuple((column, step) for column, step in steps if step.finds),
    )
