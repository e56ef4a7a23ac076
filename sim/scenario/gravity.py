"""A cistern that feeds the house by its level: what goes with a pump is left out, or refused."""

from typing import Any

from sim.constants import GRAVITY_M_S2
from sim.errors import InputError
from sim.scenario.care import Policy, Spare, Task
from sim.scenario.catchment import Cistern
from sim.scenario.effects import TaskEffect
from sim.scenario.train import Pump

OF_PUMP: frozenset[TaskEffect] = frozenset({"new pump", "new pressure tank", "set precharge"})
WATER_KG_M3 = 1000.0  # nominal; checks only, the twin takes density from temperature
FITTINGS = frozenset({"tank valve", "tank drain", "pump switch"})


def without_pump(
    tasks: tuple[Task, ...],
    policies: tuple[Policy, ...],
    spares: tuple[Spare, ...],
) -> dict[str, Any]:
    """Return these parts of a site without what serves pump, pressure tank and switch alone."""
    left = tuple(task for task in tasks if not OF_PUMP & set(task.effects))
    gone = {task.name for task in tasks} - {task.name for task in left}
    parts = {task.part for task in tasks if task.name in gone}

    def of(policy: Policy) -> Policy:
        return policy.model_copy(update={"rules": tuple(r for r in policy.rules if r.task not in gone)})

    return {
        "tasks": left,
        "policies": tuple(of(policy) for policy in policies),
        "spares": tuple(one for one in spares if one.part not in parts),
    }


def check_gravity(machine: Pump, lift_m: float, most_pa: float) -> None:
    """Refuse a cistern that is to feed by its level and cannot, or a pump beside it.

    Parameters
    ----------
    machine : Pump
        Whose height is that of the gauge over the floor of the cistern.
    lift_m : float
        Highest fixture above the gauge [m].
    most_pa : float
        Pressure of a full cistern at the gauge [Pa].
    """
    if machine.holds or machine.standby:
        key = "pump.speed" if machine.holds else "pump.standby"
        raise ValueError(f"{key}: there is no pump where cistern.gravity_feed is true; wanted one of the two")
    if machine.height_m >= 0.0:
        raise ValueError(
            f"pump.height: the gauge stands {machine.height_m:g} m above the floor of a cistern that feeds "
            "by gravity (cistern.gravity_feed); wanted it below, such as '-6 m'"
        )
    most_m = most_pa / (WATER_KG_M3 * GRAVITY_M_S2)
    if lift_m >= most_m:
        raise ValueError(
            f"house.lift: the highest fixture is {lift_m:g} m above the gauge, and a full cistern stands "
            f"{most_m:.3g} m above it; wanted less, or a lower gauge (pump.height)"
        )


def check_pumped(store: Cistern, what: str) -> None:
    """Refuse what speaks of pump, switch and pressure tank for a house that has none.

    Raises
    ------
    InputError
        One line.
    """
    if store.gravity_feed:
        raise InputError(
            f"cistern.gravity_feed: read true; {what} would speak of pump, switch and pressure tank, which "
            "such a house has not; compare, run, tune and check take it"
        )
