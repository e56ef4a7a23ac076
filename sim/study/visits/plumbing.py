"""Whether a task can be done on a train as it is plumbed: its printed steps on the symbolic plant."""

import itertools
from collections.abc import Sequence

from sim.scenario.procedure import AT_REST, FITTINGS, Step, expanded
from sim.scenario.scenario import Scenario
from sim.upkeep.segments import SHUTOFF, Train
from sim.upkeep.walk import Move, Walked, walk

LOWEST_TAP_M = 1.0  # over the housings [A]
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


def done(scenario: Scenario, steps: Sequence[Step], have: frozenset[str]) -> Walked:
    """Do steps on a train with some fittings."""
    rest = {device: at for device, at in AT_REST.items() if device in have or device not in FITTINGS}
    heights_m = {
        "lowest tap": min(LOWEST_TAP_M, scenario.house.lift_m),
        "tap upstairs": max(LOWEST_TAP_M, scenario.house.lift_m),
    }
    train = Train(have, scenario.switch.cut_out_pa, heights_m)
    return walk([_move(step) for step in steps], rest, train)


def _move(step: Step) -> Move:
    operates = {str(device): str(position) for device, position in step.operates.items()}
    return Move(step.id, step.needs, operates, step.acts)


def refused(scenario: Scenario, name: str, have: frozenset[str] | None = None) -> tuple[str, ...]:
    """Return what speaks against doing a task on a train; empty when nothing does.

    A guide may end with the house shut off, as when its people leave.
    """
    have = fittings(scenario) if have is None else have
    walked = done(scenario, steps_on(scenario, name, have), have)
    if name in {guide.name for guide in scenario.guides}:
        return walked.faults
    return walked.refused


def lacks(scenario: Scenario, name: str) -> tuple[str, ...]:
    """Return the fewest fittings with which a task that is refused could be done; empty when none help."""
    have = fittings(scenario)
    rest = [one for one in TO_FIT if one not in have]
    for count in (1, 2, 3):
        for more in itertools.combinations(rest, count):
            if not refused(scenario, name, have | set(more)):
                return more
    return ()


def missed(scenario: Scenario, name: str, step_id: str) -> tuple[str, ...]:
    """Return what leaving one step of a task out leads to on this train."""
    have = fittings(scenario)
    steps = [step for step in steps_on(scenario, name, have) if step.id != step_id]
    before = set(refused(scenario, name))
    return tuple(one for one in done(scenario, steps, have).refused if one not in before)
