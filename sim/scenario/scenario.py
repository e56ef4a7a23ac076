"""The whole of what is asked: one site, its train, its house, and the policies to compare."""

from collections.abc import Iterable
from datetime import date
from difflib import get_close_matches

from pydantic import Field, model_validator

from sim.constants import DAY_S, GRAVITY_M_S2, YEAR_S
from sim.scenario.care import Goals, People, Policy, Prices, Spare, Task
from sim.scenario.catchment import Cistern, RainSource, Roof
from sim.scenario.house import House, PowerSupply
from sim.scenario.logger import Logger
from sim.scenario.procedure import Block, Fitting, Procedure, Sample, Slip, Step, expanded
from sim.scenario.sizing import Alternative, Equipment
from sim.scenario.train import Gauge, PressureSwitch, PressureTank, Pump, Stage, Uv
from sim.scenario.values.quantity import Label, Part
from sim.units import text

WATER_KG_M3 = 1000.0  # nominal; checks only, the twin takes density from temperature
DEEPEST_M = 50.0  # of water; beyond it no cistern of a house is meant
MOST_STAGES = 16  # that the record of a house holds
FIRST_YEAR, LAST_YEAR = 1600, 9000  # of a start: a run and its years stay within the calendar
HIGHEST_STATIC_PA = 551_581.0  # 80 psi, above which plumbing codes ask for a reducing valve (UPC 608.2)
PROFILES = (
    "indoor",
    "hot water",
    "shower",
    "sink",
    "bath",
    "clothes washer",
    "dishwasher",
    "hot water weekday",
    "hot water weekend",
    "flat",
    "daytime",
)


class Scenario(Part):
    """One site and the policies to compare on it."""

    name: Label
    summary: str = Field(max_length=400)
    start: date
    years: int = Field(default=5, ge=1, le=50)
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
    procedures: tuple[Procedure, ...] = Field(default=(), alias="procedure")
    slips: tuple[Slip, ...] = Field(default=(), alias="slip")
    sample: Sample | None = None
    alternatives: tuple[Alternative, ...] = Field(default=(), alias="alternative")
    equipment: tuple[Equipment, ...] = Field(default=(), alias="equipment")
    logger: Logger | None = None

    @model_validator(mode="after")
    def _agrees(self) -> "Scenario":
        if not FIRST_YEAR <= self.start.year <= LAST_YEAR:
            raise ValueError(f"start: read {self.start}; wanted a date from {FIRST_YEAR} to {LAST_YEAR}")
        if len(self.stages) > MOST_STAGES:
            raise ValueError(f"stage: read {len(self.stages)} stages; wanted {MOST_STAGES} at most")
        _unique("stage", (stage.name for stage in self.stages))
        _unique("task", (task.name for task in self.tasks))
        _unique("spare", (spare.part for spare in self.spares))
        _unique("policy", (policy.name for policy in self.policies))
        _unique("fitting", (fitting.name for fitting in self.fittings))
        _unique("block", (block.name for block in self.blocks))
        _unique("procedure", (procedure.name for procedure in self.procedures))
        _unique("slip", (slip.name for slip in self.slips))
        _check_procedures(self)
        self.__dict__["tasks"] = tuple(_with_minutes(self, task) for task in self.tasks)
        _unique("alternative", (one.key for one in self.alternatives))
        _unique("equipment", (one.part for one in self.equipment))
        _check_rules(self)
        _check_parts(self)
        _check_profiles(self)
        _check_water(self)
        return self

    def procedure(self, name: str) -> Procedure | None:
        """Return the procedure of a task.

        Parameters
        ----------
        name : str
            Name of the task, or "return to service".

        Returns
        -------
        Procedure or None
            None when the scenario has none of that name.
        """
        return next((found for found in self.procedures if found.name == name), None)

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
        return sum(step.minutes for step in self.steps(name))


def nearest(name: str, known: Iterable[str]) -> str:
    """Return the words that offer what is known and the name nearest to the one read.

    Returns
    -------
    str
        For instance "did you mean 'cut_in'? known are 'cut_in', 'cut_out'".

    Examples
    --------
    >>> nearest("cutin", ["cut_in", "drift"])
    "did you mean 'cut_in'? known are 'cut_in', 'drift'"
    """
    names = list(known)
    close = get_close_matches(name, names, n=1, cutoff=0.5)
    start = f"did you mean {close[0]!r}? " if close else ""
    return f"{start}known are {', '.join(map(repr, names)) or 'none'}"


def _unique(what: str, names: Iterable[str]) -> None:
    seen: set[str] = set()
    for name in names:
        if name in seen:
            raise ValueError(f"{what}: two have the name {name!r}; wanted each name once")
        seen.add(name)


def _check_procedures(scenario: Scenario) -> None:
    blocks = [block.name for block in scenario.blocks]
    slips = [str(slip.name) for slip in scenario.slips]
    have = [str(fitting.name) for fitting in scenario.fittings]
    for plug in ("UV plug", "pump switch"):
        if scenario.procedures and plug not in have:
            raise ValueError(f"fitting: no {plug!r}, which procedures work; {nearest(plug, have)}")
    for procedure in scenario.procedures:
        where = f"procedure[{procedure.name}]"
        for name in (*procedure.before, *procedure.after):
            if name not in blocks:
                raise ValueError(f"{where}: no [[block]] {name!r}; {nearest(name, blocks)}")
        steps = expanded(procedure, scenario.blocks)
        _unique(f"{where}.step", (step.id for step in steps))
        for step in steps:
            for slip in (step.slip, *step.finds):
                if slip is not None and slip not in slips:
                    raise ValueError(f"{where}.step[{step.id}]: no [[slip]] {slip!r}; {nearest(slip, slips)}")


def _with_minutes(scenario: Scenario, task: Task) -> Task:
    """Return the task with the minutes of its steps where it states none of its own."""
    minutes = task.minutes or scenario.minutes(task.name)
    if not minutes:
        raise ValueError(
            f"task[{task.name}].minutes: is missing; wanted a number, or a [[procedure]] with steps"
        )
    found = task.model_copy(update={"minutes": minutes})
    if not task.minutes:
        found.model_fields_set.discard("minutes")  # no file states it; the steps do
    return found


def _check_rules(scenario: Scenario) -> None:
    stages = [stage.name for stage in scenario.stages]
    tasks = {str(task.name): task for task in scenario.tasks}
    for policy in scenario.policies:
        for number, rule in enumerate(policy.rules, 1):
            where = f"policy[{policy.name}].rule[{number}]"
            if rule.task not in tasks:
                raise ValueError(f"{where}.task: no [[task]] {rule.task!r}; {nearest(rule.task, tasks)}")
            if rule.stage is not None and rule.stage not in stages:
                raise ValueError(f"{where}.stage: no stage {rule.stage!r}; {nearest(rule.stage, stages)}")
            if tasks[rule.task].technician_only and rule.by == "owner":
                raise ValueError(f'{where}.by: {rule.task!r} is technician_only; wanted by = "technician"')
        for number, skip in enumerate(policy.skips, 1):
            if skip.stage is not None and skip.stage not in stages:
                where = f"policy[{policy.name}].skip[{number}].stage"
                raise ValueError(f"{where}: no stage {skip.stage!r}; {nearest(skip.stage, stages)}")


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
    if reach_pa <= cut_out:
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
    if cistern.intake_m + pump.restart_m >= depth_m:
        raise ValueError(
            f"cistern.intake: {cistern.intake_m:g} m with pump.restart {pump.restart_m:g} m is not below the "
            f"depth of the cistern, {depth_m:.3g} m (capacity over floor); wanted less"
        )


def warnings(scenario: Scenario) -> list[str]:
    """Return what is odd in a scenario that can still be run, one line each.

    Returns
    -------
    list of str
        Warnings with the key they are about; empty when nothing is odd.
    """
    return [*_pressure_warnings(scenario), *_uv_warnings(scenario), *_care_warnings(scenario)]


def _pressure_warnings(scenario: Scenario) -> list[str]:
    switch, house = scenario.switch, scenario.house
    precharge = scenario.tank.precharge_pa
    found = []
    if precharge > switch.cut_in_pa:
        found.append(
            f"pressure_tank.precharge: {text(precharge, 'pressure', 'us')} is above cut_in "
            f"({text(switch.cut_in_pa, 'pressure', 'us')}); the tank is empty before the pump starts"
        )
    if precharge < 0.5 * switch.cut_in_pa:
        found.append(
            f"pressure_tank.precharge: {text(precharge, 'pressure', 'us')} is less than half of cut_in; "
            "the tank gives little water between pump starts"
        )
    if switch.cut_out_pa > HIGHEST_STATIC_PA:
        found.append("pressure_switch.cut_out: above 80 psi, where plumbing codes ask for a reducing valve")
    left_pa = switch.cut_in_pa - house.lift_m * WATER_KG_M3 * GRAVITY_M_S2
    if left_pa < house.low_tap_pa:
        found.append(
            f"house.lift: at cut_in {text(left_pa, 'pressure', 'us')} is left at the highest fixture before "
            f"any flow, below low_tap ({text(house.low_tap_pa, 'pressure', 'us')})"
        )
    return found


def _uv_warnings(scenario: Scenario) -> list[str]:
    uv = scenario.uv
    found = []
    at_alarm_j_m2 = uv.dose_at_rating_j_m2 / uv.output_at_end * uv.alarm
    if at_alarm_j_m2 < uv.target_j_m2:
        found.append(
            f"uv.alarm: when it sounds for the lamp or the sleeve the dose at rated flow is "
            f"{text(at_alarm_j_m2, 'dose', 'us')}, below the target of {text(uv.target_j_m2, 'dose', 'us')}"
        )
    if uv.dose_at_rating_j_m2 < uv.target_j_m2:
        found.append("uv.dose_at_rating: below uv.target even as rated")
    if uv.rated_flow_m3_s < scenario.pump.best_flow_m3_s:
        found.append(
            "uv.rated_flow: below pump.best_flow; the pump can push more water than the unit is rated for"
        )
    return found


def _care_warnings(scenario: Scenario) -> list[str]:
    used = {task.part for task in scenario.tasks} | {stage.name for stage in scenario.stages}
    found = [
        f"spare[{spare.part}]: is neither the part of a task nor the name of a stage; never used"
        for spare in scenario.spares
        if spare.part not in used
    ]
    run_s = scenario.years * YEAR_S
    found += [
        f"policy[{policy.name}]: {rule.task!r} every {rule.every_s / DAY_S:.0f} d is never due "
        f"in {scenario.years} yr"
        for policy in scenario.policies
        for rule in policy.rules
        if rule.when == "calendar" and rule.every_s > run_s
    ]
    return found
