"""Whether steps, blocks, slips and fittings go together, and steps do what their task says."""

from collections.abc import Iterator, Sequence

from sim.scenario.care import Task
from sim.scenario.effects import AT_STAGE
from sim.scenario.nearest import nearest, unique
from sim.scenario.procedure import Block, Fitting, Guide, Procedure, Slip, Step, expanded

_WORKED = ("UV plug", "pump switch")  # every train has them
_SHUT = {("inlet valve", "shut"), ("pump switch", "off")}
_UNPLUGGED = {("UV plug", "out")}


def check_steps(
    tasks: Sequence[Task],
    guides: Sequence[Guide],
    back: Procedure | None,
    blocks: Sequence[Block],
    slips: Sequence[Slip],
    fittings: Sequence[Fitting],
) -> None:
    """Refuse steps that name what is not there or contradict their task.

    Raises
    ------
    ValueError
        One line: key, what was read, what is wanted.
    """
    have = frozenset(str(fitting.name) for fitting in fittings)
    for plug in _WORKED:
        if any(task.steps for task in tasks) and plug not in have:
            raise ValueError(f"fitting: no {plug!r}, which procedures work; {nearest(plug, have)}")
    _check_guides(guides)
    known = {slip.name: slip for slip in slips}
    for where, procedure in _procedures(tasks, guides, back):
        names = [block.name for block in blocks]
        for name in (*procedure.before, *procedure.after):
            if name not in names:
                raise ValueError(f"{where}: no [[block]] {name!r}; {nearest(name, names)}")
        steps = expanded(procedure, blocks)
        unique(f"{where}.step", (step.id for step in steps))
        for step in steps:
            for name in filter(None, (step.slip, *step.finds)):
                if name not in known:
                    raise ValueError(f"{where}.step[{step.id}]: no [[slip]] {name!r}; {nearest(name, known)}")
    for task in tasks:
        _check_flags(task, [step for step in expanded(task, blocks) if step.goes_with(have)])
        for step in task.steps:
            if not task.on_stage and step.slip is not None and known[step.slip].effect in AT_STAGE:
                raise ValueError(
                    f"task[{task.name}].step[{step.id}].slip: {step.slip!r} is about a stage, "
                    "and the task is done on none; wanted another slip"
                )


def _check_guides(guides: Sequence[Guide]) -> None:
    named = [guide.name for guide in guides]
    for guide in guides:
        if guide.follows is not None and guide.follows not in named:
            said = nearest(guide.follows, named)
            raise ValueError(f"guide[{guide.name}].follows: no [[guide]] {guide.follows!r}; {said}")


def _procedures(
    tasks: Sequence[Task], guides: Sequence[Guide], back: Procedure | None
) -> Iterator[tuple[str, Procedure]]:
    yield from ((f"task[{task.name}]", task) for task in tasks)
    yield from ((f"guide[{guide.name}]", guide) for guide in guides)
    if back is not None:
        yield "return_to_service", back


def _check_flags(task: Task, steps: Sequence[Step]) -> None:
    """Hold the steps to what the task says of water and light: the sheet and the twin must not differ."""
    if not steps:
        return
    worked = {(device, at) for step in steps for device, at in step.operates.items()}
    for key, said, done, what in (
        ("shuts_water", task.shuts_water, bool(_SHUT & worked), "shuts the inlet or the pump off"),
        ("unplugs_uv", task.unplugs_uv, bool(_UNPLUGGED & worked), "pulls the UV plug"),
    ):
        if said != done:
            raise ValueError(
                f"task[{task.name}].{key}: read {str(said).lower()}, but "
                f"{'a' if done else 'no'} step {what}; wanted {str(done).lower()}"
            )


def unused_slips(
    tasks: Sequence[Task],
    guides: Sequence[Guide],
    back: Procedure | None,
    blocks: Sequence[Block],
    slips: Sequence[Slip],
) -> list[str]:
    """Return the names of slips that no step leads to."""
    steps = [step for _, one in _procedures(tasks, guides, back) for step in expanded(one, blocks)]
    led_to = {step.slip for step in steps}
    return [slip.name for slip in slips if slip.name not in led_to]


def check_valve(fittings: Sequence[Fitting], has_valve: bool) -> None:
    """Refuse a place of the UV shut-off valve in a train that has none."""
    placed = [one.name for one in fittings if one.name.startswith("shut-off valve")]
    if placed and not has_valve:
        raise ValueError(
            f"fitting: {placed[0]!r}, but uv.shutoff_valve is false; wanted true, or no such fitting"
        )
