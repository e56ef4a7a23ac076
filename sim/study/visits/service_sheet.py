"""What a visit takes: its steps, minutes and parts, what a reading calls for, and the year in words."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sim.scenario.care import READINGS, Policy, Rule, Task
from sim.scenario.procedure import Procedure, Step
from sim.scenario.scenario import Scenario
from sim.study.visits.visits import OWNER, TECHNICIAN, Visit
from sim.study.wording import counted, listed, named, number, percent
from sim.units import Units, text


@dataclass(frozen=True)
class Doing:
    """One step of a visit, under the heading of its task."""

    heading: str
    step: Step


def doings(scenario: Scenario, visit: Visit) -> tuple[Doing, ...]:
    """Return the steps of a visit in order; what tasks share is done once.

    A task that is read by itself is closed, lit and read before the next one opens the train again.
    """
    have = frozenset(str(fitting.name) for fitting in scenario.fittings)
    blocks = {block.name: block.steps for block in scenario.blocks}
    found: list[Doing] = []
    last: Procedure | None = None  # whose blocks close what stands open
    begun = 0  # where that was opened
    for job in visit.jobs:
        procedure = scenario.procedure(job.task)
        if procedure is None:
            continue
        ready = [Doing("making ready", step) for name in procedure.before for step in blocks[name]]
        own = [Doing(job.label, step) for step in procedure.steps]
        if last is not None and _within(last, procedure, blocks, have):
            if read_alone(last):
                found += _opened_again(last, ready, blocks, have)
                begun, last = len(found), procedure
            found, own = _without_twice(found, own, begun, procedure)
            found += own
            continue
        found += _back(last, blocks) + ready
        begun, last = len(found), procedure
        found += own
    found += _back(last, blocks)
    return tuple(doing for doing in found if doing.step.goes_with(have))


def _within(
    last: Procedure, procedure: Procedure, blocks: Mapping[str, Sequence[Step]], have: frozenset[str]
) -> bool:
    """Return whether all that makes a task ready and closes it is part of what stands open already."""

    def worked(names: Sequence[str]) -> set[str]:
        steps = (step for name in names for step in blocks[name])
        return {step.id for step in steps if step.operates and step.goes_with(have)}

    before, after = worked(procedure.before), worked(procedure.after)
    return bool(procedure.after and before) and before <= worked(last.before) and after <= worked(last.after)


def _without_twice(
    found: list[Doing], own: list[Doing], begun: int, procedure: Procedure
) -> tuple[list[Doing], list[Doing]]:
    """Leave out that an old part is put back before a new one comes, and that a cool lamp cools again."""
    new = getattr(procedure, "part", None)
    cooled = any(doing.step.acts == ("cool",) for doing in found[begun:])
    return (
        [*found[:begun], *(doing for doing in found[begun:] if dict(doing.step.operates) != {new: "in"})],
        [doing for doing in own if not (cooled and doing.step.acts == ("cool",))],
    )


def _opened_again(
    last: Procedure, ready: list[Doing], blocks: Mapping[str, Sequence[Step]], have: frozenset[str]
) -> list[Doing]:
    """Return how a train is closed, read and opened again: with the house held where cocks relieve it."""
    if any("lowest tap" in doing.step.operates and doing.step.goes_with(have) for doing in ready):
        return _back(last, blocks) + ready
    until = next(n for n, name in enumerate(last.after, 1) if _reads(blocks[name]))
    again = [doing for doing in ready if set(doing.step.acts) - {"tell"} or doing.step.operates]
    return _back(last, blocks, until, "reading before the next") + again


def _back(
    last: Procedure | None,
    blocks: Mapping[str, Sequence[Step]],
    until: int | None = None,
    heading: str = "putting back",
) -> list[Doing]:
    """Return the steps of the blocks after a task, or of the first of them."""
    names = last.after[:until] if last is not None else ()
    return [Doing(heading, step) for name in names for step in blocks[name]]


def _reads(steps: Sequence[Step]) -> bool:
    return any("read" in step.acts for step in steps)


def read_alone(task: Procedure | None) -> bool:
    """Return whether a task wants a reading before anything else is wiped: what the sensor sees through."""
    return isinstance(task, Task) and "wiped sensor window" in task.effects


LONGEST_MIN = 120.0  # of a visit on one sheet
MOST_STEPS = 55  # of a sheet that prints on two pages


def split(scenario: Scenario, visit: Visit) -> tuple[Visit, ...]:
    """Return a visit in parts of two hours and two pages at most; a longer task stays whole."""
    found: list[Visit] = []
    for job in visit.jobs:
        longer = Visit(visit.on, visit.who, (*found[-1].jobs, job)) if found else None
        if longer is not None and _fits(scenario, longer):
            found[-1] = longer
        else:
            found.append(Visit(visit.on, visit.who, (job,)))
    return tuple(found)


def _fits(scenario: Scenario, visit: Visit) -> bool:
    return minutes(scenario, visit) <= LONGEST_MIN and len(doings(scenario, visit)) <= MOST_STEPS


def minutes(scenario: Scenario, visit: Visit) -> float:
    """Return how long a visit takes by its steps.

    Returns
    -------
    float
        Minutes; five for a round of readings [A], those it states for a task without steps.
    """
    readings = sum(5.0 for job in visit.jobs if job.task == READINGS)
    tasks = [task for job in visit.jobs if (task := scenario.task(job.task)) is not None]
    unstepped = sum(task.minutes for task in tasks if not task.steps)
    names = [task.name for task in tasks]
    stepped = (
        doing.step.minutes * max((scenario.times(name, doing.step) for name in names), default=1)
        for doing in doings(scenario, visit)
    )
    return readings + unstepped + sum(stepped)


@dataclass(frozen=True)
class Bring:
    """A part to bring.

    Attributes
    ----------
    name : str
        With its size.
    count : int
        How many.
    lead_s : float
        From order to hand [s].
    """

    name: str
    count: int
    lead_s: float


def parts(scenario: Scenario, visit: Visit) -> tuple[Bring, ...]:
    """Return the parts a visit uses up."""
    lead_s = {spare.part: spare.lead_s for spare in scenario.spares}
    stages = {stage.name: stage for stage in scenario.stages}
    found = []
    for job in visit.jobs:
        task = scenario.task(job.task)
        if task is None:
            continue
        if "new cartridge" in task.effects:
            one = stages[job.stage]
            name = f"{one.name} cartridge, {one.size} in, {one.rating_m * 1e6:g} um"
            found.append(Bring(name, one.housings, lead_s.get(job.stage, 0.0)))
        if task.part is not None:
            lamps = scenario.uv.units if "new lamp" in task.effects else 1
            found.append(Bring(task.part, lamps, lead_s.get(task.part, 0.0)))
    return tuple(found)


def limits(scenario: Scenario, policy: Policy, units: Units) -> tuple[str, ...]:
    """Return what a reading calls for, one line a rule.

    Returns
    -------
    tuple of str
        For instance "UV reading under 70 %: wipe sleeve".
    """
    del scenario
    return tuple(f"{_limit(rule, units)}: {rule.label}" for rule in policy.rules if rule.when == "reading")


def between(scenario: Scenario, policy: Policy) -> tuple[str, ...]:
    """Return what is done when something shows between visits, one line a sign."""
    shows = {task.name: task.shows for task in scenario.tasks}
    return tuple(
        f"{shows[rule.task]}: {rule.label}, by the {rule.by}"
        for rule in policy.rules
        if rule.when == "failure"
    )


def _limit(rule: Rule, units: Units) -> str:
    if rule.drop_above_pa is not None:
        return f"Drop over {rule.stage} above {text(rule.drop_above_pa, 'pressure', units)}"
    if rule.uv_below is not None:
        return f"UV reading under {percent(rule.uv_below)}"
    return f"Precharge short by more than {text(rule.precharge_off_pa or 0.0, 'pressure', units)}"


def numbered(found: Sequence[Visit]) -> list[tuple[int, Visit]]:
    """Return visits with the numbers of their sheets."""
    work = 0
    pairs = []
    for visit in found:
        work += not visit.only_readings
        pairs.append((0 if visit.only_readings else work, visit))
    return pairs


def summary(scenario: Scenario, policy: Policy, found: Sequence[Visit], start: date) -> str:
    """Return what the year asks for, in words."""
    if not found:
        return (
            f"{named(policy.name)} asks for no visit by the calendar in the year from {start}: "
            "everything waits until something shows."
        )
    lines = []
    for who in (OWNER, TECHNICIAN):
        mine = [visit for visit in found if visit.who == who]
        if mine:
            work = [visit for visit in mine if not visit.only_readings]
            hours = sum(minutes(scenario, visit) for visit in mine) / 60.0
            rounds = len(mine) - len(work)
            said = [counted(len(work), "visit with work", "visits with work")] if work else []
            said += [counted(rounds, "round of readings", "rounds of readings")] if rounds else []
            lines.append(f"the {who}: {listed(said)}, some {number(hours)} h")
    first = next((visit for visit in found if not visit.only_readings), found[0])
    labels = ", ".join(job.label for job in first.jobs)
    return (
        f"The year from {start} under {named(policy.name)} asks of {'; of '.join(lines)}. "
        f"First work: {first.on} ({labels})."
    )
