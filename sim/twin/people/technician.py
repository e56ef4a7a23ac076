"""The technician: called for what waits, busy with others' jobs, comes once for all."""

from collections.abc import Callable, Sequence

import simpy

from sim.constants import DAY_S
from sim.twin.people.duty import Duty, Story, until_hour_s
from sim.twin.people.others import Others
from sim.twin.world import World

TECHNICIAN_HOUR = 9.0


class Technician:
    """Technicians shared with other houses, and the jobs that wait for them here."""

    def __init__(
        self,
        world: World,
        duties: Sequence[Duty],
        perform: Callable[[Duty, str], Story],
        nobody: Callable[[Duty], bool],
        waits: Callable[[Duty], bool],
    ):
        """Have nothing to do yet."""
        self.world, self.env, self.duties = world, world.env, duties
        self.perform, self.nobody, self.waits = perform, nobody, waits
        self.crew = simpy.Resource(self.env, capacity=world.scenario.people.technicians)
        self.others = Others()
        self.orders: list[Duty] = []
        self.called = False

    def yearly(self, every_s: float) -> Story:
        """Call the technician every so often, whatever is due."""
        while True:
            yield self.env.timeout(every_s)
            if not self.world.policy.skipped("everything", None, self.env.now):
                self.call()

    def order(self, duty: Duty) -> None:
        """Put a task on the list of the next visit, and see to it that there is one."""
        self.orders.append(duty)
        self.call()

    def call(self) -> None:
        """Call the technician, once for all that is waiting."""
        if not self.called:
            self.called = True
            self.env.process(self.visit())

    def visit(self) -> Story:
        """The technician comes after the lead time, when free, and does all that is asked for or soon due."""
        world, people = self.world, self.world.scenario.people
        yield self.env.timeout(people.technician_lead_s)
        asked_s = self.env.now
        with self.crew.request() as turn:
            yield turn
            yield self.env.timeout(max(self.others.turn_s(asked_s) - self.env.now, 0.0))
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
                    and not self.waits(duty)
                    and not self.nobody(duty)
                ):
                    duty.pending = True
                    jobs.append(duty)
            for duty in jobs:
                yield self.env.process(self.perform(duty, "technician"))
            self.others.free_s = self.env.now

    def serve_others(self) -> None:
        """Be busy with other customers' calls; the jobs of several technicians are followed one by one."""
        if self.crew.capacity == 1:
            self.others = Others(
                self.world.common.other_jobs_s.tolist(), self.world.scenario.people.technician_job_s
            )
        else:
            self.env.process(self._other_jobs())

    def _other_jobs(self) -> Story:
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
