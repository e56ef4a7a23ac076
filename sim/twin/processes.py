"""The processes of a run: days, rules that fall due, and the work itself."""

import numpy as np
import simpy

from sim.constants import DAY_S, HOUR_S
from sim.twin.people.duty import Duty, Story, duties_of, until_hour_s
from sim.twin.people.service import apply
from sim.twin.people.slips import Slips
from sim.twin.people.stores import Stores
from sim.twin.people.technician import Technician
from sim.twin.people.watching import Watch
from sim.twin.water import onward
from sim.twin.world import World

OWNER_HOUR = 10.0


class Care:
    """Everyone who looks after the house, by the rules of one policy."""

    def __init__(self, world: World):
        """Start the processes of a policy."""
        self.world, self.env, sc = world, world.env, world.scenario
        self.duties = duties_of(sc, world.policy)
        self.hands = simpy.Resource(self.env, capacity=1)  # one task at a time on the train
        self.slips = Slips(world, self.hands, self.pay)
        self.errand = (-1.0, 0.0)  # when the owner was last asked, and the wait that goes with it
        self.stores = Stores(world)
        self.watch = Watch(world, self.duties, self.slips.noticing, self.ask)
        self.technician = Technician(world, self.duties, self.perform, self.nobody, self.waits)
        self.left_s = np.inf  # when those who go by the rules leave the house to somebody else
        self.env.process(self.days())
        for duty in self.duties:
            if duty.rule.when == "calendar":
                self.env.process(self.calendar(duty))
        if world.policy.reading_every_s:
            self.env.process(self.watch.rounds(world.policy.reading_every_s))
        if world.policy.technician_every_s:
            self.env.process(self.technician.yearly(world.policy.technician_every_s))
        if any(duty.rule.by == "technician" for duty in self.duties):
            self.technician.serve_others()

    def days(self) -> Story:
        """Look at the house every midnight, oftener near the alarm: what is noticed then is minded.

        Nobody acts before the next event, so all looks before it are taken at once.
        """
        world, env = self.world, self.env
        end_s = world.common.n_days * DAY_S
        due_s = 0.0
        while due_s < end_s:
            if due_s > env.now and due_s >= self.alone_until_s(end_s):
                yield env.timeout(due_s - env.now)
            minded = world.onward(self.alone_until_s(end_s))
            due_s = float(world.clock["due_s"])
            if minded:
                if due_s > env.now:
                    yield env.timeout(due_s - env.now)
                self.mind()
                due_s = onward.plan(world.house)

    def alone_until_s(self, end_s: float) -> float:
        """Return the time of the next event, or of the end."""
        return min(self.env.peek(), end_s, self.world.each_from_s)

    def mind(self) -> None:
        """Mind what a look showed; at midnight also what was noticed of the day, and a low cistern."""
        self.world.learn()
        day = int(self.env.now / DAY_S)
        if self.env.now != day * DAY_S:
            return
        if day and self.world.policy.heeds_alarm:
            self.watch.notice(day - 1)
        self.stores.order_water()

    def calendar(self, duty: Duty) -> Story:
        """Let a task fall due every so often, counted from when its part was last renewed for any reason."""
        while True:
            due_s = max(duty.done_s + duty.rule.every_s, duty.again_s)
            if due_s > self.env.now:
                yield self.env.timeout(due_s - self.env.now)
                continue
            self.ask(duty)
            if duty.again_s <= self.env.now:
                duty.done_s = self.env.now

    def ask(self, duty: Duty) -> None:
        """Ask for a task, unless it is asked for already or this time nobody does it.

        What brings the water back is never put off, and is hurried where it waits already.
        """
        urgent = duty.rule.when == "failure" and duty.rule.by == "owner" and self.world.held
        idle = duty.pending if urgent else self.env.now < duty.again_s or self.waits(duty)
        if idle or self.nobody(duty):
            return
        world, people = self.world, self.world.scenario.people
        chance = world.common.adherence[duty.row, duty.occasions % world.common.adherence.shape[1]]
        wait = float(world.common.delay[duty.row, duty.occasions % world.common.delay.shape[1]])
        duty.occasions += 1
        mean_s = people.repair_delay_s if duty.rule.when == "failure" else people.delay_s
        if duty.rule.by == "owner" and chance > people.adherence and not urgent:
            self.put_off(duty, mean_s)
            return
        duty.pending, duty.asked_s = True, self.env.now
        if duty.rule.by == "technician":
            self.technician.order(duty)
        else:
            if self.errand[0] != self.env.now:
                self.errand = (self.env.now, wait * mean_s)
            self.slips.left(duty.task, duty.row, duty.stage, "late")
            self.env.process(self.owner(duty, self.errand[1]))  # what is asked for together is done together

    def waits(self, duty: Duty) -> bool:
        """Return whether the task of a rule is asked for already, by this rule or another."""
        return any(other.pending for other in self.duties if other.row == duty.row)

    def put_off(self, duty: Duty, mean_s: float) -> None:
        """Leave a task undone for some of its mean waits, whoever asks for it meanwhile."""
        self.world.note("order", duty.label, note="put off: not done this time")
        self.slips.left(duty.task, duty.row, duty.stage, "put off")
        until_s = self.env.now + max(self.world.scenario.people.put_off_waits * mean_s, DAY_S)
        for other in self.duties:
            if other.row == duty.row:
                other.again_s = until_s

    def nobody(self, duty: Duty) -> bool:
        """Return whether nobody does a task now, and say so in the diary the first time."""
        left = self.world.policy.skipped(duty.task.name, duty.rule.stage, self.env.now)
        if left and not duty.left:
            self.world.note("order", duty.label, note="due, and nobody does it")
        duty.left = left
        return left

    def owner(self, duty: Duty, delay_s: float) -> Story:
        """The owner gets round to a task, fetches the part and does it on a morning at home.

        Not when it was done meanwhile, because another rule asked for it more urgently.
        """
        asked_s = duty.asked_s
        yield self.env.timeout(delay_s)
        yield self.env.process(self.stores.part_for(duty))
        yield self.env.timeout(until_hour_s(self.env.now, OWNER_HOUR))
        while not self.at_home():
            yield self.env.timeout(DAY_S)
        if duty.pending and duty.asked_s == asked_s:
            yield self.env.process(self.perform(duty, "owner"))

    def at_home(self) -> bool:
        """Return whether water is drawn today."""
        starts, midnight_s = self.world.common.draws.start_s, self.env.now // DAY_S * DAY_S
        at = int(starts.searchsorted(midnight_s))
        return at < starts.size and bool(starts[at] < midnight_s + DAY_S)

    def perform(self, duty: Duty, who: str) -> Story:
        """Do a task that a rule asked for, unless they have left who would have done it."""
        if self.env.now < self.left_s:
            yield from self.work(duty, who)

    def work(self, duty: Duty, who: str) -> Story:
        """Do a task: shut, unplug, work, put back; then what was worn is as the task leaves it.

        Parameters
        ----------
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
        duty.pending = False
        for other in self.duties:
            if other.row == duty.row:
                other.pending &= other.rule.by == "technician"  # he was sent for, and comes
                other.done_s, other.worked_s, other.again_s = self.env.now, self.env.now, 0.0
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
        """
        costs, people = self.world.costs, self.world.scenario.people
        costs.parts += parts
        if who == "owner":
            costs.owner_s += hours * HOUR_S
        costs.labour += hours * (people.owner_hour if who == "owner" else people.technician_hour)
