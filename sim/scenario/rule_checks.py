"""Whether the rules of a policy go with the tasks and stages of a site; what they leave out."""

from collections.abc import Mapping, Sequence

from sim.scenario.care import EVERYTHING, Policy, Rule, Skip, Task
from sim.scenario.effects import any_needs, readings_for
from sim.scenario.nearest import nearest


def check_policy(policy: Policy, tasks: Sequence[Task], stages: Sequence[str]) -> None:
    """Refuse rules and skips that name what is not there, or that can never fall due.

    Raises
    ------
    ValueError
        One line: key, what was read, what is wanted.
    """
    known = {task.name: task for task in tasks}
    for number, rule in enumerate(policy.rules, 1):
        where = f"policy[{policy.name}].rule[{number}]"
        _check_rule(where, rule, known, stages)
        first = policy.rules.index(rule) + 1
        if first < number:
            raise ValueError(f"{where}: is rule[{first}] once more, {rule.label!r}; wanted each rule once")
    for number, skip in enumerate(policy.skips, 1):
        _check_skip(f"policy[{policy.name}].skip[{number}]", skip, known, stages)


def _check_rule(where: str, rule: Rule, tasks: Mapping[str, Task], stages: Sequence[str]) -> None:
    if rule.task not in tasks:
        raise ValueError(f"{where}.task: no [[task]] {rule.task!r}; {nearest(rule.task, tasks)}")
    task = tasks[rule.task]
    _check_stage(where, rule.stage, task, stages, wanted=task.on_stage)
    if task.technician_only and rule.by == "owner":
        raise ValueError(f'{where}.by: {task.name!r} is technician_only; wanted by = "technician"')
    if rule.when == "failure":
        _check_failure(where, task)
    if rule.when == "reading":
        _check_reading(where, rule, task)


def _check_stage(
    where: str, stage: str | None, task: Task, stages: Sequence[str], wanted: bool = False
) -> None:
    if stage is None and wanted:
        raise ValueError(f"{where}.stage: is missing; wanted the stage of {task.name!r}, {_of(stages)}")
    if stage is not None and not task.on_stage:
        raise ValueError(f"{where}.stage: read {stage!r}; {task.name!r} is done on no stage, wanted none")
    if stage is not None and stage not in stages:
        raise ValueError(f"{where}.stage: no stage {stage!r}; {nearest(stage, stages)}")


def _of(stages: Sequence[str]) -> str:
    return f"known are {', '.join(map(repr, stages)) or 'none'}"


def _check_failure(where: str, task: Task) -> None:
    if not any_needs(task.effects, "noticed"):
        ways = '"calendar" or "reading"' if readings_for(task.effects) else '"calendar"'
        raise ValueError(
            f'{where}.when: read "failure", but nothing that shows ever calls for {task.name!r}; '
            f"wanted {ways}"
        )
    if not task.shows:
        raise ValueError(
            f"task[{task.name}].shows: is missing; wanted what a person sees when it is called for, "
            f'as {where} has when = "failure"'
        )


def _check_reading(where: str, rule: Rule, task: Task) -> None:
    able = readings_for(task.effects)
    for key in rule.readings:
        if key not in able:
            ways = f"wanted {' or '.join(able)}" if able else 'no reading does; wanted when = "calendar"'
            raise ValueError(f"{where}.{key}: is a reading that never calls for {task.name!r}; {ways}")


def _check_skip(where: str, skip: Skip, tasks: Mapping[str, Task], stages: Sequence[str]) -> None:
    if skip.task == EVERYTHING:
        if skip.stage is not None:
            raise ValueError(f"{where}.stage: read {skip.stage!r}; goes with a task on stages")
        return
    if skip.task not in tasks:
        known = [*tasks, EVERYTHING]
        raise ValueError(f"{where}.task: no [[task]] {skip.task!r}; {nearest(skip.task, known)}")
    _check_stage(where, skip.stage, tasks[skip.task], stages)


def never_changed(policy: Policy, tasks: Sequence[Task], stages: Sequence[str]) -> tuple[str, ...]:
    """Return the stages whose cartridge no rule of a policy ever changes.

    A policy without any rule leaves everything as it is, and is meant to: it names none.
    """
    if not policy.rules:
        return ()
    new = {task.name for task in tasks if "new cartridge" in task.effects}
    changed = {
        rule.stage
        for rule in policy.rules
        if rule.task in new and (rule.when != "failure" or policy.heeds_alarm)
    }
    return tuple(stage for stage in stages if stage not in changed)


def never_changed_words(
    policies: Sequence[Policy], tasks: Sequence[Task], stages: Sequence[str]
) -> list[str]:
    """Return a sentence for each stage whose cartridge some policies leave in for ever.

    For instance "No rule of 'by the calendar' ever changes the cartridge of 'fine'."
    """
    left = {policy.name: never_changed(policy, tasks, stages) for policy in policies}
    found = []
    for stage in stages:
        names = [repr(name) for name, its in left.items() if stage in its]
        if names:
            who = " or ".join(filter(None, (", ".join(names[:-1]), names[-1])))
            found.append(f"No rule of {who} ever changes the cartridge of {stage!r}.")
    return found
