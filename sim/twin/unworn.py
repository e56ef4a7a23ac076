"""A house whose parts never wear: what would arrive at the train, day by day."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import simpy

from sim.constants import DAY_S
from sim.scenario.care import Policy, Task
from sim.scenario.scenario import Scenario
from sim.twin.common import Common
from sim.twin.people.service import apply
from sim.twin.people.stores import Stores
from sim.twin.world import World

Floats = npt.NDArray[np.float64]
BEFORE_TRAIN = frozenset({"cleared gutters", "cleaned cistern"})  # effects that change what arrives
# Sums since the start at every midnight, then what stood at the end of every day.
SUMS = ("passed_m3", "house_m3", "inflow_m3", "lit_s", "run_s")
ENDS = ("cistern_m3", "tint_per_m", "dirt_kg_m3", "water_c", "peak_flow_m3_s")


@dataclass(frozen=True)
class Arrival:
    """What passed a train that never wears.

    Attributes
    ----------
    sums : ndarray
        Columns `SUMS`, then the mass each stage caught [kg], shape (days + 1, 5 + stages).
    ends : ndarray
        Columns `ENDS`, shape (days, 5); tint is that of the raw water, dirt is what no stage caught.
    """

    sums: Floats
    ends: Floats


def for_water(task: Task) -> bool:
    """Return whether a task changes what arrives at the train, and nothing else."""
    return bool(task.effects) and BEFORE_TRAIN.issuperset(task.effects)


def arrival(
    scenario: Scenario, common: Common, acts: Sequence[tuple[float, str]], n_days: int | None = None
) -> Arrival:
    """Run a house with parts that never wear.

    Parameters
    ----------
    acts : sequence of tuple
        Time [s] and name of a task of which `for_water` is true, in order.
    n_days : int, optional
        Days to run; all of the common inputs when left out.
    """
    days = common.n_days if n_days is None else min(n_days, common.n_days)
    env = simpy.Environment()
    world = _world(env, scenario, common)
    stores, tasks = Stores(world), {task.name: task for task in scenario.tasks}
    sums, ends = np.zeros((days + 1, len(SUMS) + len(scenario.stages))), np.zeros((days, len(ENDS)))
    inside = np.prod(1.0 - world.stages["catch"], axis=0)
    waiting = [act for act in acts if act[0] < days * DAY_S]
    for day in range(days):
        world.midnight(day)
        stores.order_water()
        while waiting and waiting[0][0] < (day + 1) * DAY_S:
            time_s, name = waiting.pop(0)
            if time_s > env.now:
                env.run(until=time_s)
            world.bring()
            apply(world, tasks[name], -1)
        env.run(until=(day + 1) * DAY_S)
        world.bring(refresh=False)
        sums[day + 1] = _sums(world)
        ends[day] = _ends(world, inside)
    return Arrival(sums, ends)


def _world(env: simpy.Environment, scenario: Scenario, common: Common) -> World:
    """Return a house in which nothing wears, fails or clogs."""
    world = World(env, unworn(scenario), Policy(name="nobody"), common, trace=False)
    for part in world.parts.values():
        part["life_s"] = math.inf
    world.stages["capacity_kg"] = world.stages["collapse_pa"] = np.inf
    world.c["lamp_tau_s"] = np.inf
    world.refresh()
    return world


def unworn(scenario: Scenario) -> Scenario:
    """Return a scenario whose pump, switch, tank and UV unit stay as new."""
    changes: dict[str, dict[str, Any]] = {
        "pump": {"wear_per_s": 0.0},
        "switch": {"drift_pa_per_s": 0.0},
        "tank": {"precharge_loss_per_s": 0.0},
        "uv": {
            "sleeve_film_per_s": 0.0,
            "window_film_per_s": 0.0,
            "burn_in_loss": 0.0,
            "shutoff_valve": False,
        },
    }
    return scenario.model_copy(
        update={part: getattr(scenario, part).model_copy(update=new) for part, new in changes.items()}
    )


def _sums(world: World) -> list[float]:
    s, w = world.s, world.w
    own = (s["pumped_m3"], s["house_m3"], w["inflow_m3"], s["lit_s"], s["run_s"])
    return [*(float(x) for x in own), *world.loads.sum(axis=1).tolist()]


def _ends(world: World, inside: Floats) -> list[float]:
    """Return what stands at the end of a day; an empty cistern has the water of its last drop."""
    s, w = world.s, world.w
    cistern_m3 = max(float(s["cistern_m3"]), 1e-6)
    tint, dirt = float(w["colour"]) / cistern_m3, float(world.solids @ inside) / cistern_m3
    return [float(s["cistern_m3"]), tint, dirt, float(w["water_c"]), float(s["peak_flow_m3_s"])]
