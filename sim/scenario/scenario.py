"""The whole of what is asked: one site, its train, its house, and the policies to compare."""

from datetime import date

from pydantic import Field, model_validator

from sim.constants import GRAVITY_M_S2, MOST_YEARS
from sim.scenario.care import Goals, People, Policy, Prices, Spare, Task
from sim.scenario.catchment import Cistern, RainSource, Roof
from sim.scenario.design import Design
from sim.scenario.effects import any_needs
from sim.scenario.gravity import FITTINGS as OF_PUMP_FITTINGS
from sim.scenario.gravity import WATER_KG_M3, check_gravity, without_pump
from sim.scenario.house import House, PowerSupply
from sim.scenario.logger import Logger
from sim.scenario.nearest import nearest, unique
from sim.scenario.procedure import RETURN, Block, Fitting, Guide, Procedure, Sample, Slip, Step, expanded
from sim.scenario.rule_checks import check_policy
from sim.scenario.sizing import Alternative, Equipment
from sim.scenario.step_checks import check_steps, check_valve
from sim.scenario.train import Gauge, PressureSwitch, PressureTank, Pump, Stage, Uv
from sim.scenario.values.quantity import Label, Part
from sim.units import text

ROUNDING = 1e-9  # relative; of a dose carried from one state of the unit to another
DEEPEST_M = 50.0  # of water; beyond it no cistern of a house is meant
MOST_STAGES = 16  # that the record of a house holds
FIRST_YEAR, LAST_YEAR = 1600, 9000  # of a start: a run and its years stay within the calendar
WIDEST_HELD_PA = 103_421.4  # 15 psi [A]: a wider band is that of a pump of one speed
HIGHEST_STATIC_PA = 551_581.0  # 80 psi, above which plumbing codes ask for a reducing valve (UPC 608.2)
PROFILES = (
    "indoor", "hot water", "shower", "sink", "bath", "clothes washer", "dishwasher",
    "hot water weekday", "hot water weekend", "flat", "daytime",
)  # fmt: skip


class Scenario(Part):
    """One site and the policies to compare on it."""

    name: Label
    summary: str = Field(max_length=400)
    start: date
    years: int = Field(default=5, ge=1, le=MOST_YEARS)
    rain: RainSource
    roof: Roof
    cistern: Cistern
    pump: Pump
    switch: PressureSwitch = Field(alias="pressure_switch")
    tank: PressureTank = Field(alias="pressure_tank")
    gauge: Gauge
    stages: tuple[Stage, ...] = Field(default=(), alias="stage")
    uv: Uv
    house: House
    power: PowerSupply
    tasks: tuple[Task, ...] = Field(alias="task")
    spares: tuple[Spare, ...] = Field(default=(), alias="spare")
    people: People
    prices: Prices
    goals: Goals
    policies: tuple[Policy, ...] = Field(alias="policy", min_length=1)
    fittings: tuple[Fitting, ...] = Field(default=(), alias="fitting")
    blocks: tuple[Block, ...] = Field(default=(), alias="block")
    guides: tuple[Guide, ...] = Field(default=(), alias="guide")
    back: Procedure | None = Field(default=None, alias="return_to_service")
    slips: tuple[Slip, ...] = Field(default=(), alias="slip")
    sample: Sample | None = None
    alternatives: tuple[Alternative, ...] = Field(default=(), alias="alternative")
    equipment: tuple[Equipment, ...] = Field(default=(), alias="equipment")
    design: Design = Design()
    logger: Logger | None = None

    @model_validator(mode="after")
    def _agrees(self) -> "Scenario":
        if not FIRST_YEAR <= self.start.year <= LAST_YEAR:
            raise ValueError(f"start: read {self.start}; wanted a date from {FIRST_YEAR} to {LAST_YEAR}")
        if len(self.stages) > MOST_STAGES:
            raise ValueError(f"stage: read {len(self.stages)} stages; wanted {MOST_STAGES} at most")
        unique("stage", (stage.name for stage in self.stages))
        unique("task", (task.name for task in self.tasks))
        unique("spare", (spare.part for spare in self.spares))
        unique("policy", (policy.name for policy in self.policies))
        unique("fitting", (fitting.name for fitting in self.fittings))
        unique("block", (block.name for block in self.blocks))
        unique("guide", (*(one.name for one in self.guides), *(task.name for task in self.tasks)))
        unique("slip", (slip.name for slip in self.slips))
        check_steps(self.tasks, self.guides, self.back, self.blocks, self.slips, self.fittings)
        check_valve(self.fittings, self.uv.shutoff_valve)
        self.__dict__["tasks"] = tuple(_with_minutes(self, task) for task in self.tasks)
        unique("alternative", (one.key for one in self.alternatives))
        unique("equipment", (one.part for one in self.equipment))
        for policy in self.policies:
            check_policy(policy, self.tasks, self.stage_names)
        if self.cistern.gravity_feed:
            check_gravity(self.pump, self.house.lift_m, self.gauge_range_pa()[1])
            self.__dict__.update(without_pump(self.tasks, self.policies, self.spares))
        _check_limits(self)
        _check_parts(self)
        _check_profiles(self)
        _check_water(self)
        _check_restrictor(self)
        _check_speed(self)
        _check_mains(self.cistern, self.restart_m)
        return self

    def procedure(self, name: str) -> Procedure | None:
        """Return the procedure of a task.

        Parameters
        ----------
        name : str
            Name of the task or guide, or "return to service".

        Returns
        -------
        Procedure or None
            None when the scenario has none of that name.
        """
        if name == RETURN:
            return self.back
        return self.task(name) or next((one for one in self.guides if one.name == name), None)

    def task(self, name: str) -> Task | None:
        """Return a task by its name, None when the scenario has none of it."""
        return next((task for task in self.tasks if task.name == name), None)

    @property
    def restart_m(self) -> float:
        """Water above the intake before any is taken again once it stood at the intake."""
        return 0.0 if self.cistern.gravity_feed else float(self.pump.restart_m)

    def gauge_range_pa(self) -> tuple[float, float]:
        """Return the pressures at the gauge that feed the taps: of the switch, or of intake and brim."""
        store = self.cistern
        if not store.gravity_feed:
            return float(self.switch.cut_in_pa), float(self.switch.cut_out_pa)
        low, high = (
            float(WATER_KG_M3 * GRAVITY_M_S2 * (depth_m - self.pump.height_m))
            for depth_m in (store.intake_m, store.capacity_m3 / store.floor_m2)
        )
        return low, high

    @property
    def stage_names(self) -> tuple[str, ...]:
        """Names of the stages, in the order water flows."""
        return tuple(stage.name for stage in self.stages)

    def steps(self, name: str) -> tuple[Step, ...]:
        """Return the steps of a task on this train, in order.

        Parameters
        ----------
        name : str
            Name of the task, or "return to service".

        Returns
        -------
        tuple of Step
            Without those that work a fitting the train lacks; empty when there is no such procedure.
        """
        found = self.procedure(name)
        have = frozenset(fitting.name for fitting in self.fittings)
        have -= OF_PUMP_FITTINGS if self.cistern.gravity_feed else frozenset()
        steps = expanded(found, self.blocks) if found is not None else ()
        return tuple(step for step in steps if step.goes_with(have))

    def minutes(self, name: str) -> float:
        """Return how long a task takes by its steps.

        Parameters
        ----------
        name : str
            Name of the task, or "return to service".

        Returns
        -------
        float
            Sum over the steps [min]; the warm-up of the UV unit is not in it.
        """
        return sum(step.minutes * self.times(name, step) for step in self.steps(name))

    def times(self, name: str, step: Step) -> int:
        """Return how often a step of a task is done: its own at each of two UV units, which cool together."""
        found = self.task(name)
        at_each = found is not None and any_needs(found.effects, "unplugged") and step in found.steps
        return self.uv.units if at_each and step.acts != ("cool",) else 1


def _with_minutes(scenario: Scenario, task: Task) -> Task:
    """Return the task with the minutes of its steps where it states none of its own."""
    minutes = task.minutes or scenario.minutes(task.name)
    if not minutes:
        raise ValueError(f"task[{task.name}].minutes: is missing; wanted a number, or steps")
    found = task.model_copy(update={"minutes": minutes})
    if not task.minutes:
        found.model_fields_set.discard("minutes")  # no file states it; the steps do
    return found


def _check_limits(scenario: Scenario) -> None:
    """Refuse limits of a reading that no reading can pass."""
    least_pa, most_pa = scenario.gauge_range_pa()
    fed = (most_pa, "the pressure of a full cistern")
    most = {
        "drop_above": fed if scenario.cistern.gravity_feed else (least_pa, "pressure_switch.cut_in"),
        "precharge_off": (scenario.tank.precharge_pa, "pressure_tank.precharge"),
    }
    rules = [(policy.name, pair) for policy in scenario.policies for pair in enumerate(policy.rules, 1)]
    for name, (number, rule) in rules:
        for key in most.keys() & rule.readings.keys():
            (bound_pa, of), limit_pa = most[key], rule.readings[key]
            if limit_pa >= bound_pa:
                raise ValueError(
                    f"policy[{name}].rule[{number}].{key}: {text(limit_pa, 'pressure', 'us')} is never read; "
                    f"wanted less than {of}, {text(bound_pa, 'pressure', 'us')}"
                )


def _check_parts(scenario: Scenario) -> None:
    spares = [spare.part for spare in scenario.spares]
    for task in scenario.tasks:
        if task.part is not None and task.part not in spares:
            raise ValueError(
                f"task[{task.name}].part: no [[spare]] for {task.part!r}; {nearest(task.part, spares)}"
            )


def _check_profiles(scenario: Scenario) -> None:
    for use in scenario.house.uses:
        for key, name in (("weekday", use.weekday), ("weekend", use.weekend)):
            if name not in PROFILES:
                raise ValueError(
                    f"house.use[{use.name}].{key}: no hourly profile {name!r}; {nearest(name, PROFILES)}"
                )


def _check_water(scenario: Scenario) -> None:
    pump, cistern, cut_out = scenario.pump, scenario.cistern, scenario.switch.cut_out_pa
    # the low cistern is the hard case: the pump must still stop when the water is at the floor
    reach_pa = (pump.shutoff_head_m - pump.height_m) * WATER_KG_M3 * GRAVITY_M_S2
    if reach_pa <= cut_out and not cistern.gravity_feed:
        raise ValueError(
            f"pump.shutoff_head: reaches {text(reach_pa, 'pressure', 'us')} at the gauge with a low cistern "
            f"and cannot reach pressure_switch.cut_out of {text(cut_out, 'pressure', 'us')}; "
            "wanted more head or a lower cut_out"
        )
    depth_m = cistern.capacity_m3 / cistern.floor_m2
    if depth_m > DEEPEST_M:
        raise ValueError(
            f"cistern.floor: the cistern is {depth_m:.3g} m deep (capacity over floor); "
            f"wanted {DEEPEST_M:g} m at most"
        )
    if cistern.intake_m + scenario.restart_m >= depth_m:
        raise ValueError(
            f"cistern.intake: {cistern.intake_m:g} m with pump.restart {scenario.restart_m:g} m is not below "
            f"the depth of the cistern, {depth_m:.3g} m (capacity over floor); wanted less"
        )


def _check_mains(store: Cistern, restart_m: float) -> None:
    if store.mains_m3_s is None:
        return
    opens, shuts = (f"{100.0 * share:g} %" for share in (store.mains_below, store.mains_until))
    dry, runs = ((store.intake_m + more) * store.floor_m2 / store.capacity_m3 for more in (0.0, restart_m))
    if store.mains_until <= store.mains_below:
        raise ValueError(f"cistern.mains_until: read {opens} to {shuts}; wanted more than mains_below")
    if store.mains_below <= dry:
        raise ValueError(
            f"cistern.mains_below: {opens} of the capacity is not above the intake ({100.0 * dry:.3g} %): "
            "the pump runs dry before the valve opens; wanted more"
        )
    if store.mains_until <= runs:
        raise ValueError(
            f"cistern.mains_until: the valve shuts at {shuts} of the capacity, and a pump that tripped waits "
            f"for {100.0 * runs:.3g} % (intake and pump.restart); wanted more"
        )
    if store.top_up_below >= store.mains_below:
        raise ValueError(
            f"cistern.top_up_below: a tanker is ordered at {100.0 * store.top_up_below:g} %, no lower than "
            f"where mains water comes in ({opens}); wanted less than mains_below, or 0 for no tanker"
        )


def _check_speed(scenario: Scenario) -> None:
    band_pa = scenario.switch.band_pa
    if scenario.pump.holds and band_pa > WIDEST_HELD_PA * (1.0 + ROUNDING):
        raise ValueError(
            f"pump.speed: a pump of constant pressure holds pressure_switch.cut_out and starts just below, "
            f"but cut_in is {text(band_pa, 'pressure', 'us')} below; wanted "
            f"{text(WIDEST_HELD_PA, 'pressure', 'us')} at most"
        )


def _check_restrictor(scenario: Scenario) -> None:
    unit, left_pa = scenario.uv, scenario.gauge_range_pa()[1]
    at = "with a full cistern" if scenario.cistern.gravity_feed else "at pressure_switch.cut_out"
    if unit.restrictor_m3_s is not None and unit.restrictor_drop_pa >= left_pa:
        raise ValueError(
            f"uv.restrictor_drop: {text(unit.restrictor_drop_pa, 'pressure', 'us')} at its flow is all the "
            f"pressure there is {at}, {text(left_pa, 'pressure', 'us')}; wanted less"
        )
