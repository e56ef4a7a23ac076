"""A run as recorded: up to a day by a policy's rules, from then on only what is done from outside.

Weather, draws, cuts, lives of parts and noise are those of the replication, whoever acts, so that two runs of
one case differ by their acts alone.
"""

from collections.abc import Sequence

import simpy

from sim.constants import DAY_S
from sim.errors import InputError
from sim.scenario.care import EVERYTHING, Policy, Rule, Skip, Task
from sim.scenario.effects import SlipEffect
from sim.scenario.scenario import Scenario
from sim.twin.basis import row_of
from sim.twin.common import Common
from sim.twin.history import History
from sim.twin.people.duty import Duty, until_hour_s
from sim.twin.people.technician import TECHNICIAN_HOUR
from sim.twin.processes import Care
from sim.twin.run import balances, history_of
from sim.twin.world import World


class Steered:
    """A house that somebody outside looks after."""

    def __init__(self, scenario: Scenario, policy: Policy, common: Common, from_s: float):
        """Run by the rules of a policy to a time; nobody then does anything by them.

        Parameters
        ----------
        from_s : float
            Time [s since the start of the run].
        """
        nobody = Skip.model_validate({"task": EVERYTHING, "from_s": f"{from_s} s"})
        left = policy.model_copy(update={"skips": (*policy.skips, nobody)})
        self.env = simpy.Environment()
        self.world = World(self.env, scenario, left, common, trace=False)
        self.care = Care(self.world)
        self.care.left_s = from_s
        self.end_s = common.n_days * DAY_S
        self._pipe = float(self.world.c["pipe_quadratic"])
        self.until(from_s)

    @property
    def now_s(self) -> float:
        """The clock [s since the start of the run]."""
        return float(self.env.now)

    def until(self, time_s: float) -> None:
        """Let time pass, to the end of the run at most.

        Parameters
        ----------
        time_s : float
            Time [s since the start of the run]; nothing happens when it has been.
        """
        time_s = min(time_s, self.end_s)
        if time_s > self.env.now:
            self.env.run(until=time_s)
        self.world.bring()

    def work(self, task: Task, stage: str | None, technician: bool) -> None:
        """Do a piece of work now, or as soon as the technician comes; time passes meanwhile."""
        sc = self.world.scenario
        if task.on_stage and stage not in sc.stage_names:
            raise InputError(f"{task.name}: wanted one of the stages {', '.join(sc.stage_names)}")
        rule = Rule.model_validate({"task": task.name, "stage": stage, "when": "calendar"})
        at = sc.stage_names.index(stage) if stage is not None and task.on_stage else -1
        duty = Duty(rule, task, at, row_of(sc, task.name, stage if task.on_stage else None))
        if technician:
            self._call()
        self._through(self.env.process(self.care.work(duty, "technician" if technician else "owner")))

    def put_right(self, effects: Sequence[SlipEffect], minutes: float) -> None:
        """Put right what slips of some effects left wrong, and open every valve, on one walk."""
        world = self.world
        self.until(self.now_s + minutes * 60.0)
        for fault in [one for one in world.faults.standing if one.slip.effect in effects]:
            world.faults.end(world, fault)
            self.care.pay(fault.slip.minutes / 60.0, "owner", fault.slip.price)
            if fault.slip.effect == "unit dark":
                world.faults.plug_in(world)
        world.c["pipe_quadratic"] = self._pipe
        world.faults.set_valves(world, None)
        world.refresh()

    def set_switch(self) -> None:
        """Let the technician set the pressure switch as the site has it."""
        self._call()
        for name in ("cut_in_pa", "cut_out_pa"):
            self.world.p[name] = getattr(self.world.scenario.switch, name)
        self.world.refresh()

    def order_water(self) -> None:
        """Order a tanker; it comes after its lead time."""
        if not self.care.stores.tanker_due:
            self.care.stores.tanker_due = True
            self.env.process(self.care.stores.tanker())

    def history(self) -> History:
        """Return what has been written up to now; what balances is checked."""
        self.world.faults.finish(self.world)
        return history_of(self.world, balances(self.world))

    def _call(self) -> None:
        people, costs = self.world.scenario.people, self.world.costs
        self.until(self.now_s + people.technician_lead_s)
        self.until(self.now_s + until_hour_s(self.now_s, TECHNICIAN_HOUR))
        costs.visits += 1
        costs.callouts += people.technician_fee

    def _through(self, work: simpy.Process) -> None:
        """Go on until a piece of work is done, or the run is over."""
        over = self.env.timeout(max(self.end_s - self.env.now, 0.0))
        self.env.run(until=work | over)
        self.world.bring()
