"""Run one policy through one replication: build, start, run, write."""

from typing import Any

import numpy as np
import simpy

from sim.constants import DAY_S
from sim.errors import BalanceError
from sim.scenario.care import Policy
from sim.scenario.scenario import Scenario
from sim.supply.solids import CLASS_NAMES
from sim.twin import lamps
from sim.twin.common import Common, common_inputs
from sim.twin.history import Balance, History
from sim.twin.processes import Care
from sim.twin.records import Part
from sim.twin.water import day_step
from sim.twin.world import World

LEDGER_LIMIT = 1e-9  # of throughput

__all__ = ["LEDGER_LIMIT", "common_inputs", "history_of", "run"]


def run(scenario: Scenario, policy: Policy, common: Common, trace: bool = False) -> History:
    """Run one policy through one replication.

    Raises
    ------
    BalanceError
        When water, a solids class or colour does not balance to 1e-9 of throughput.
    """
    env = simpy.Environment()
    world = World(env, scenario, policy, common, trace)
    Care(world)
    env.run(until=common.n_days * DAY_S)
    world.bring()
    world.note_day(common.n_days - 1)
    world.faults.finish(world)
    found = balances(world)
    for balance in found:
        if not balance.error <= LEDGER_LIMIT:
            raise BalanceError(
                f"{balance.name} does not balance in replication {common.replication} of {policy.name!r}: "
                f"{balance.error:.2e} of throughput, wanted {LEDGER_LIMIT:.0e}"
            )
    return history_of(world, found)


def balances(world: World) -> tuple[Balance, ...]:
    """Return the ledger of water, of each solids class and of colour.

    Returns
    -------
    tuple of Balance
        Water [m3], four classes [kg], colour [m2].
    """
    s, w = world.s, world.w
    water = Balance(
        "water",
        world.start_m3,
        float(w["inflow_m3"]) + world.tanked_m3 + float(s["mains_m3"]),
        float(s["house_m3"]),
        float(w["overflow_m3"]) + world.spilled_m3,
        0.0,
        float(s["cistern_m3"]) + float(s["water_m3"]) + world.stuck_m3,
    )
    stored = np.append(world.solids + world.sludge + world.loads.sum(axis=0), float(w["colour"]))
    names = (*(f"solids {name}" for name in CLASS_NAMES), "colour")
    solutes = []
    for k, name in enumerate(names):
        came_in, house, spilled, removed = (float(x) for x in world.ledger[k])
        solutes.append(
            Balance(name, float(world.started[k]), came_in, house, spilled, removed, float(stored[k]))
        )
    return (water, *solutes)


def history_of(world: World, found: tuple[Balance, ...]) -> History:
    """Return what a world has written so far."""
    sc, common, daily = world.scenario, world.common, world.daily
    load = world.loads.sum(axis=1) / np.maximum(world.stages["capacity_kg"], 1e-12)
    limits_s = np.array([stage.age_limit_s for stage in sc.stages])
    age = (common.n_days * DAY_S - np.array(world.installed_s)) / limits_s
    return History(
        scenario=sc,
        policy=world.policy.name,
        replication=common.replication,
        years=common.years,
        n_days=common.n_days,
        start=common.start,
        stage_names=tuple(stage.name for stage in sc.stages),
        use_names=common.use_names,
        draws=world.draws,
        use=common.draws.use,
        pump_runs_s=world.pump_log[: int(world.s["pump_rows"])].copy(),
        days=world.days,
        causes=world.causes,
        rain_m=common.rain_m,
        cistern_m3=daily[:, day_step.CISTERN],
        overflow_m3=np.diff(daily[:, day_step.OVERFLOW], prepend=0.0),
        mains_m3=np.diff(daily[:, day_step.MAINS], prepend=0.0),
        uv_reading=daily[:, day_step.READING],
        water_c=daily[:, day_step.WATER_C],
        absorbance_per_m=daily[:, day_step.ABSORBANCE],
        drops_pa=daily[:, len(day_step.DAILY_COLUMNS) :],
        cut_days=_days_of_cuts(common),
        alarm_days=world.alarm_days,
        dose_volume_m3=world.s["dose_m3"].copy(),
        events=tuple(world.events),
        lapses=tuple(world.lapses),
        costs=world.costs,
        parts={name: _part(one) for name, one in world.parts.items()},
        stage_life_left=np.clip(1.0 - np.maximum(load, age), 0.0, 1.0),
        lamp_life_left=max(0.0, 1.0 - float(world.w["lamp_lit_s"]) / sc.uv.rated_life_s),
        alarms=world.alarms,
        false_alarms=world.false_alarms,
        pump_j=float(world.s["energy_j"]),
        lit_s=float(world.s["lit_s"]),
        balances=found,
        trace=world.trace[: int(world.s["trace_rows"])],
        cuts_s=common.cuts_s,
        lamps_over_count=world.lamps_over_count + lamps.over_chance(world),
        chances=tuple(world.chances),
        visits_s=np.array(world.visits_s),
    )


def _part(one: Any) -> Part:
    """Return a part as it stood at the end."""
    return Part(float(one["life_s"]), float(one["used_s"]), bool(one["broken"]), int(one["number"]))


def _days_of_cuts(common: Common) -> np.ndarray:
    """Return the days on which the power was off, an hour of starting up again included."""
    found = np.zeros(common.n_days, dtype=bool)
    for start_s, end_s in common.cuts_s:
        found[int(start_s / DAY_S) : int((end_s + 3600.0) / DAY_S) + 1] = True
    return found
