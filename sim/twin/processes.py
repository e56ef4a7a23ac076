"""The processes of a run: days, readings, rules that fall due, the owner, the technician, the tanker."""

import math
from collections.abc import Generator
from dataclasses import dataclass
from typing import Any

import simpy

from sim.constants import DAY_S, HOUR_S
from sim.plant import state, tank
from sim.scenario.care import Rule, Task
from sim.twin.service import apply
from sim.twin.slips import Slips
from sim.twin.world import World
from sim.upkeep.rules import failure_due, reading_due

Story = Generator[simpy.Event, Any, None]
OWNER_HOUR, TECHNICIAN_HOUR = 10.0, 9.0
WEAK_TAP_S = 600.0  # ten weak minutes a day are noticed [A]
WEAK_SHARE = 0.25  # of cut-in: a stage that takes more at reading flow is the one to change [A]
BUSY_STARTS = 10.0  # pump starts a day before anyone listens [A]
SHORT_DRAWDOWN = 0.3  # of a healthy tank's drawdown a start: a pump that never rests is heard [A]
RECENT_S = 30 * DAY_S
NEW_LAMP_S = 180 * DAY_S  # a lamp this new is not blamed for an alarm that a new lamp did not clear [A]


@dataclass
class Duty:
    """One rule of the policy with its memory."""

    rule: Rule
    task: Task
    stage: int  # -1 when the task is not on a stage
    row: int  # row of this task in the tables of chance
    done_s: float = 0.0
    pending: bool = False
    occasions: int = 0
    worked_s: float = -math.inf  # when it was last done in fact
    left: bool = False  # asked for in a span in which nobody does it

    @property
    def label(self) -> str:
        """What the diary calls it."""
        return self.task.name + (f": {self.rule.stage}" if self.rule.stage else "")


class Care:
    """Everyone who looks after the house, by the rules of one policy."""

    def __init__(self, world: World):
        """Start the processes of a policy.

        Parameters
        ----------
        world : World
            The house.
        """
        self.world, self.env, sc = world, world.env, world.scenario
        names = [task.name for task in sc.tasks]
        stages = [stage.name for stage in sc.stages]
        self.duties = []
        for rule in world.policy.rules:
            stage = stages.index(rule.stage) if rule.stage else -1
            row = names.index(rule.task) if stage < 0 else len(names) + stage
            self.duties.append(Duty(rule, sc.tasks[names.index(rule.task)], stage, row))
        self.drawdown_m3 = tank.drawdown_m3(
            sc.tank.volume_m3,
            sc.tank.precharge_pa,
            sc.switch.cut_in_pa,
            sc.switch.cut_out_pa,
            float(world.p["atmosphere_pa"]),
            sc.tank.gas_exponent,
        )
        self.crew = simpy.Resource(self.env, capacity=sc.people.technicians)
        self.shelf = {spare.part: spare.on_shelf for spare in sc.spares}
        self.lead_s = {spare.part: spare.lead_s for spare in sc.spares}
        self.hands = simpy.Resource(self.env, capacity=1)  # one task at a time on the train
        self.slips = Slips(world, self.hands, self.pay)
        self.errand = (-1.0, 0.0)  # when the owner was last asked, and the wait that goes with it
        self.orders: list[Duty] = []
        self.called = False
        self.tanker_due = False
        self.env.process(self.days())
        for duty in self.duties:
            if duty.rule.when == "calendar":
                self.env.process(self.calendar(duty))
        if world.policy.reading_every_s:
            self.env.process(self.rounds(world.policy.reading_every_s))
        if world.policy.technician_every_s:
            self.env.process(self.yearly(world.policy.technician_every_s))
        if any(duty.rule.by == "technician" for duty in self.duties):
            self.env.process(self.other_jobs())

    def days(self) -> Story:
        """Bring every midnight: weather, wear, what the household notices, the tanker."""
        for day in range(self.world.common.n_days):
            self.world.bring(refresh=False)
            self.world.midnight(day)
            if day and self.world.policy.heeds_alarm:
                self.notice(day - 1)
            self.order_water()
            yield self.env.timeout(DAY_S)

    def order_water(self) -> None:
        """Order a tanker when the cistern is low and none is on its way."""
        store = self.world.scenario.cistern
        if not self.tanker_due and float(self.world.s["cistern_m3"]) < store.top_up_below * store.capacity_m3:
            self.tanker_due = True
            self.env.process(self.tanker())

    def tanker(self) -> Story:
        """Bring a load of clean water after its lead time."""
        world, store, prices = self.world, self.world.scenario.cistern, self.world.scenario.prices
        yield self.env.timeout(store.top_up_lead_s)
        world.bring()
        load = min(store.top_up_m3, store.capacity_m3 - float(world.s["cistern_m3"]))
        world.s["cistern_m3"] += load
        world.tanked_m3 += load
        cost = prices.tanker_load + prices.tanker_m3 * load
        world.costs.water += cost
        world.costs.tanker_loads += 1
        world.note("tanker", "cistern", value=load, unit="m3", cost=cost)
        world.refresh()
        self.tanker_due = False

    def calendar(self, duty: Duty) -> Story:
        """Let a task fall due every so often, counted from when it was last done or skipped.

        Parameters
        ----------
        duty : Duty
            Rule of the policy and its memory.
        """
        while True:
            due_s = duty.done_s + duty.rule.every_s
            if due_s > self.env.now:
                yield self.env.timeout(due_s - self.env.now)
                continue
            self.ask(duty)
            duty.done_s = self.env.now

    def rounds(self, every_s: float) -> Story:
        """Read the gauges every so often and act on what was read.

        Parameters
        ----------
        every_s : float
            Time from one to the next [s], above 0.
        """
        world, gauge = self.world, self.world.scenario.gauge
        while True:
            yield self.env.timeout(every_s)
            if world.policy.skipped("everything", None, self.env.now):
                continue
            world.bring()
            noise = world.common.reading_noise[min(int(self.env.now / DAY_S), world.common.n_days - 1)]
            drops = [
                max(world.drop_pa(i) + gauge.reading_sd_pa * noise[i], 0.0) for i in range(len(world.stages))
            ]
            light = max(float(world.w["reading"]) + gauge.uv_reading_sd * noise[-1], 0.0)
            short = world.scenario.tank.precharge_pa - world.precharge_pa + gauge.reading_sd_pa * noise[-2]
            for stage, drop in zip(world.scenario.stages, drops, strict=True):
                world.note("reading", f"drop over {stage.name}", value=drop, unit="Pa")
            world.note("reading", "UV", value=light, unit="fraction")
            self.slips.read(drops, light)
            for duty in self.duties:
                rule = duty.rule
                drop = drops[duty.stage] if duty.stage >= 0 else 0.0
                if rule.when == "reading" and reading_due(
                    drop, rule.drop_above_pa, light, rule.uv_below, short, rule.precharge_off_pa
                ):
                    self.ask(duty)

    def yearly(self, every_s: float) -> Story:
        """Call the technician every so often, whatever is due.

        Parameters
        ----------
        every_s : float
            Time from one to the next [s], above 0.
        """
        while True:
            yield self.env.timeout(every_s)
            if not self.world.policy.skipped("everything", None, self.env.now):
                self.call()

    def notice(self, day: int) -> None:
        """Act on what the household noticed on a day: alarm, weak taps, dry taps, a pump that never rests.

        Parameters
        ----------
        day : int
            Number of the day, from 0.
        """
        world = self.world
        alarm, dark = bool(world.p["alarm"]), world.parts["lamp"].broken
        weak = bool(world.days[day, state.LOW_PRESSURE] > WEAK_TAP_S)
        broken_part = world.parts["pump"].broken or world.parts["bladder"].broken
        if not (alarm or dark or weak or broken_part):
            return
        wiped_s = max((d.worked_s for d in self.duties if d.task.name.startswith("wipe")), default=-math.inf)
        worst = max(range(len(world.stages)), key=world.drop_pa, default=-1)
        weak = weak and worst >= 0 and world.drop_pa(worst) > WEAK_SHARE * float(world.p["cut_in_pa"])
        if weak:
            self.slips.weak_taps()
        for duty in self.duties:
            if duty.rule.when != "failure":
                continue
            name = duty.task.name
            broken = {
                "repair pump": world.parts["pump"].broken and bool(world.days[day, state.WATER_OFF] > 0),
                "repair pressure tank": world.parts["bladder"].broken and self.restless(day),
            }.get(name, False)
            vain = self.env.now - wiped_s < RECENT_S
            blamed = vain and (name != "replace lamp" or self.env.now - duty.worked_s >= NEW_LAMP_S)
            if failure_due(name, alarm, dark, blamed, broken, weak and duty.stage == worst):
                self.ask(duty)

    def restless(self, day: int) -> bool:
        """Return whether the pump started far too often on a day for the water that was used.

        Parameters
        ----------
        day : int
            Number of the day.

        Returns
        -------
        bool
            True when each start gave less than a stated share of a healthy tank's drawdown.
        """
        starts, supplied_m3 = self.world.days[day, state.STARTS], self.world.days[day, state.SUPPLIED]
        return bool(starts > BUSY_STARTS and supplied_m3 < SHORT_DRAWDOWN * self.drawdown_m3 * starts)

    def ask(self, duty: Duty) -> None:
        """Ask for a task, unless it is asked for already or this time nobody does it.

        Parameters
        ----------
        duty : Duty
            Rule of the policy and its memory.
        """
        if any(other.pending for other in self.duties if other.row == duty.row) or self.nobody(duty):
            return
        world, people = self.world, self.world.scenario.people
        chance = world.common.adherence[duty.row, duty.occasions % world.common.adherence.shape[1]]
        wait = float(world.common.delay[duty.row, duty.occasions % world.common.delay.shape[1]])
        duty.occasions += 1
        if duty.rule.by == "owner" and chance > people.adherence:
            world.note("order", duty.label, note="put off: not done this time")
            self.slips.left(duty.task, duty.row, duty.stage, "put off")
            return
        duty.pending = True
        mean_s = people.repair_delay_s if duty.rule.when == "failure" else people.delay_s
        if duty.rule.by == "technician":
            self.orders.append(duty)
            self.call()
        else:
            if self.errand[0] != self.env.now:
                self.errand = (self.env.now, wait * mean_s)
            self.slips.left(duty.task, duty.row, duty.stage, "late")
            self.env.process(self.owner(duty, self.errand[1]))  # what is asked for together is done together

    def nobody(self, duty: Duty) -> bool:
        """Return whether nobody does a task now, and say so in the diary the first time.

        Parameters
        ----------
        duty : Duty
            Rule of the policy and its memory.

        Returns
        -------
        bool
            True within a span of the policy's skips.
        """
        left = self.world.policy.skipped(duty.task.name, duty.rule.stage, self.env.now)
        if left and not duty.left:
            self.world.note("order", duty.label, note="due, and nobody does it")
        duty.left = left
        return left

    def owner(self, duty: Duty, delay_s: float) -> Story:
        """The owner gets round to a task, fetches the part and does it on a morning.

        Parameters
        ----------
        duty : Duty
            Rule of the policy and its memory.
        delay_s : float
            Time before the owner gets round to it [s].
        """
        yield self.env.timeout(delay_s)
        yield self.env.process(self.part_for(duty))
        yield self.env.timeout(until_hour_s(self.env.now, OWNER_HOUR))
        yield self.env.process(self.perform(duty, "owner"))

    def part_for(self, duty: Duty) -> Story:
        """Take the part from the shelf and order another, or wait for it.

        Parameters
        ----------
        duty : Duty
            Rule of the policy and its memory.
        """
        part = duty.rule.stage or duty.task.part
        if part is None:
            return
        lead_s = self.lead_s.get(part, 0.0)
        if self.shelf.get(part, 0) > 0:
            self.shelf[part] -= 1
            self.env.process(self.restock(part, lead_s))
        elif lead_s > 0.0:
            self.world.note("order", part, note="not on the shelf")
            yield self.env.timeout(lead_s)

    def restock(self, part: str, lead_s: float) -> Story:
        """Put a part back on the shelf after its lead time.

        Parameters
        ----------
        part : str
            Name of the spare.
        lead_s : float
            Time from order to shelf [s].
        """
        yield self.env.timeout(lead_s)
        self.shelf[part] += 1

    def call(self) -> None:
        """Call the technician, once for all that is waiting."""
        if not self.called:
            self.called = True
            self.env.process(self.visit())

    def visit(self) -> Story:
        """The technician comes after the lead time, when free, and does all that is asked for or soon due."""
        world, people = self.world, self.world.scenario.people
        yield self.env.timeout(people.technician_lead_s)
        with self.crew.request() as turn:
            yield turn
            yield self.env.timeout(until_hour_s(self.env.now, TECHNICIAN_HOUR))
            self.called = False
            world.costs.visits += 1
            world.costs.callouts += people.technician_fee
            world.note("visit", "technician", cost=people.technician_fee)
            jobs, self.orders = self.orders, []
            for duty in self.duties:
                soon = duty.done_s + duty.rule.every_s - self.env.now <= world.policy.bundle_s
                if (
                    duty.rule.by == "technician"
                    and duty.rule.when == "calendar"
                    and soon
                    and not duty.pending
                    and not self.nobody(duty)
                ):
                    duty.pending = True
                    jobs.append(duty)
            for duty in jobs:
                yield self.env.process(self.perform(duty, "technician"))

    def perform(self, duty: Duty, who: str) -> Story:
        """Do a task: shut, unplug, work, put back; then what was worn is as the task leaves it.

        Parameters
        ----------
        duty : Duty
            Rule of the policy and its memory.
        who : str
            "owner" or "technician".
        """
        with self.hands.request() as free:
            yield free
            yield self.env.process(self._work(duty, who))

    def _work(self, duty: Duty, who: str) -> Story:
        world, task = self.world, duty.task
        world.bring()
        missed = self.slips.start(task, duty.row, duty.stage, who)
        yield self.env.timeout(task.minutes * 60.0)
        world.bring()
        cost = apply(world, task, duty.stage)
        self.slips.leave(missed)
        self.pay(task.minutes / 60.0, who, cost)
        duty.pending, duty.done_s, duty.worked_s = False, self.env.now, self.env.now
        self.slips.done(task, duty.row)
        world.note("task", duty.label, value=task.minutes, unit="min", note=f"by {who}", cost=cost)
        if task.unplugs_uv:
            world.faults.plug_in(world)
            yield self.env.timeout(world.scenario.uv.warm_up_s)  # water stays shut until the lamp is warm
            world.bring()
        world.working = None
        world.faults.set_valves(world, None)
        world.refresh()

    def pay(self, hours: float, who: str, parts: float) -> None:
        """Book hours and parts.

        Parameters
        ----------
        hours : float
            Time worked [h].
        who : str
            "owner" or "technician".
        parts : float
            Price of the parts used.
        """
        costs, people = self.world.costs, self.world.scenario.people
        costs.parts += parts
        if who == "owner":
            costs.owner_s += hours * HOUR_S
        costs.labour += hours * (people.owner_hour if who == "owner" else people.technician_hour)

    def other_jobs(self) -> Story:
        """Other customers' calls keep the technician busy."""
        job_s = self.world.scenario.people.technician_job_s
        for start_s in self.world.common.other_jobs_s:
            if start_s >= self.world.common.n_days * DAY_S:
                return
            yield self.env.timeout(max(float(start_s) - self.env.now, 0.0))
            self.env.process(self._elsewhere(job_s))

    def _elsewhere(self, job_s: float) -> Story:
        with self.crew.request() as turn:
            yield turn
            yield self.env.timeout(job_s)


def until_hour_s(now_s: float, hour: float) -> float:
    """Return the wait until an hour of the clock comes next.

    Parameters
    ----------
    now_s : float
        Time since the midnight the run began with [s].
    hour : float
        Hour of the day, 0 to 24.

    Returns
    -------
    float
        Wait [s], 0 to one day.

    Examples
    --------
    >>> until_hour_s(9 * 3600.0, 10.0)
    3600.0
    """
    return float((hour * HOUR_S - now_s) % DAY_S)
