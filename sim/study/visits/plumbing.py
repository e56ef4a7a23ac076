"""Whether a task can be done on a train as it is plumbed: its printed steps on the symbolic plant."""

import itertools
from collections.abc import Mapping, Sequence

from sim.scenario.procedure import AT_REST, FITTINGS, Guide, Step, expanded, opposite
from sim.scenario.scenario import Scenario
from sim.upkeep.segments import SHUTOFF, Train
from sim.upkeep.walk import Move, Walked, walk

UNSTATED = "shut-off valve at outlet"  # where a file does not say: the worst place
# What somebody can fit to a train so that it can be served.
TO_FIT = (
    "relief button",
    "sampling valve before UV",
    "chamber sampling valve",
    "sampling valve after UV",
    "shut-off lever",
    "outlet valve",
    "inlet valve",
    "tank drain",
)


def fittings(scenario: Scenario) -> frozenset[str]:
    """Return the fittings of a train; its shut-off valve counts as at the outlet where no fitting says."""
    have = frozenset(str(one.name) for one in scenario.fittings)
    unsaid = scenario.uv.shutoff_valve and not have & set(SHUTOFF)
    return have | {UNSTATED} if unsaid else have


def steps_on(scenario: Scenario, name: str, have: frozenset[str]) -> tuple[Step, ...]:
    """Return the steps of a task on a train with some fittings."""
    found = scenario.procedure(name)
    steps = expanded(found, scenario.blocks) if found is not None else ()
    return tuple(step for step in steps if step.goes_with(have))


def done(
    scenario: Scenario,
    steps: Sequence[Step],
    have: frozenset[str],
    begin: Mapping[str, str] = AT_REST,
    stood: bool = False,
) -> Walked:
    """Do steps on a train with some fittings, from where its devices stand as they `begin`."""
    rest = {device: at for device, at in begin.items() if device in have or device not in FITTINGS}
    lowest_m, highest_m = sorted((scenario.house.lowest_tap_m, scenario.house.lift_m))
    heights_m = {"lowest tap": lowest_m, "tap upstairs": highest_m}
    train = Train(have, scenario.switch.cut_out_pa, heights_m)
    return walk([_move(step) for step in steps], rest, train, stood)


def _move(step: Step) -> Move:
    operates = {str(device): str(position) for device, position in step.operates.items()}
    return Move(step.id, step.needs, operates, step.acts)


def refused(scenario: Scenario, name: str, have: frozenset[str] | None = None) -> tuple[str, ...]:
    """Return what speaks against doing a task on a train; empty when nothing does."""
    have = fittings(scenario) if have is None else have
    return _against(scenario, name, steps_on(scenario, name, have), have, _start(scenario, name, have))


def _guide(scenario: Scenario, name: str) -> Guide | None:
    return next((one for one in scenario.guides if one.name == name), None)


def _start(scenario: Scenario, name: str, have: frozenset[str]) -> dict[str, str]:
    """Return where devices stand before a task: at rest, or as the guide it follows left them."""
    guide = _guide(scenario, name)
    if guide is None or guide.follows is None:
        return AT_REST
    return {**AT_REST, **done(scenario, steps_on(scenario, guide.follows, have), have).positions}


def _against(
    scenario: Scenario, name: str, steps: Sequence[Step], have: frozenset[str], begin: Mapping[str, str]
) -> tuple[str, ...]:
    """Return what speaks against steps; a guide with nothing after it may end with the house shut off."""
    guide = _guide(scenario, name)
    walked = done(scenario, steps, have, begin, stood=guide is not None and guide.follows is not None)
    return walked.faults if guide is not None and not guide.after else walked.refused


def lacks(scenario: Scenario, name: str) -> tuple[str, ...]:
    """Return the fewest fittings with which a task that is refused could be done; empty when none help."""
    have = fittings(scenario)
    rest = [one for one in TO_FIT if one not in have]
    for count in (1, 2, 3):
        for more in itertools.combinations(rest, count):
            if not refused(scenario, name, have | set(more)):
                return more
    return ()


def missed(scenario: Scenario, name: str, *step_ids: str) -> tuple[str, ...]:
    """Return what leaving steps of a task out leads to on this train.

    A step that sees to what should stand so anyway is left out where it does not stand so.
    """
    have = fittings(scenario)
    steps = steps_on(scenario, name, have)
    start = _start(scenario, name, have)
    begin = {**start, **_otherwise(steps, step_ids, start)}
    before = set(_against(scenario, name, steps, have, begin))
    kept = [step for step in steps if step.id not in step_ids]
    return tuple(one for one in _against(scenario, name, kept, have, begin) if one not in before)


def _otherwise(steps: Sequence[Step], step_ids: Sequence[str], start: Mapping[str, str]) -> dict[str, str]:
    """Return what stands otherwise than at the start where some steps are the first to see to it."""
    touched: set[str] = set()
    found: dict[str, str] = {}
    for step in steps:
        for device, position in step.operates.items():
            if step.id in step_ids and device not in touched and position == start[device]:
                found[device] = opposite(position)
            touched.add(device)
    return found
