"""What a day does to the parts: precharge, switch, pump and lamp wear, a cartridge tears, a part fails."""

import math
from typing import Any

from sim.constants import DAY_S
from sim.plant import pump_life, state
from sim.twin.changeable import Changeable
from sim.twin.water.house import CLASSES, TO_HOUSE

LEAST_BAND_PA = 1e4  # a switch that has drifted down to nothing still has a spring of its own [A]


def age(world: Changeable) -> None:
    """Let parts wear for a day: precharge, switch drift, pump head, failures."""
    sc, p, parts = world.scenario, world.p, world.parts
    parts["bladder"]["used_s"] += DAY_S
    world.precharge_pa *= math.exp(-sc.tank.precharge_loss_per_s * DAY_S)
    if not parts["bladder"]["broken"]:
        p["precharge_pa"] = world.precharge_pa
    if sc.switch.drift_pa_per_s != 0.0:
        band_pa = min(LEAST_BAND_PA, sc.switch.cut_out_pa - sc.switch.cut_in_pa)
        drift_pa = sc.switch.drift_pa_per_s * DAY_S
        p["cut_in_pa"] = max(p["cut_in_pa"] + drift_pa, 1.0)
        p["cut_out_pa"] = max(p["cut_out_pa"] + drift_pa, p["cut_in_pa"] + band_pa)
    if sc.pump.wear_per_s > 0.0:
        p["shutoff_head_m"] = sc.pump.shutoff_head_m * math.exp(-sc.pump.wear_per_s * parts["pump"]["used_s"])
    for name, part in parts.items():
        stood = part.item()  # all fields at once: a look at a record takes as long as all the sums here
        life_s, used_s, broken = stood[:3]
        if broken:
            continue
        if name == "pump":
            used_s = _pump_age_s(world, part, stood)
        elif name == "lamp":
            used_s += float(world.s["lamp_starts"]) * sc.uv.start_wear_s
        if used_s >= life_s:
            fail(world, name)


def _pump_age_s(world: Changeable, part: Any, stood: tuple[float, ...]) -> float:
    """Add yesterday's starts and running to a pump; return the age of an idle pump that is worn as much."""
    pump, now = world.scenario.pump, world.env.now
    if now <= 0.0:
        return 0.0
    _, used_s, _, _, since_s, start_count, run_s, hard_s = stood
    starts, short = world.days[int(now / DAY_S) - 1, state.STARTS : state.SHORT_RUNS + 1].tolist()
    start_count += pump_life.counted_starts(starts, short, pump.short_run_wear_factor)
    part["start_count"] = start_count
    if world.cavitates_m3 > 0.0:
        if world.s["cistern_m3"] < world.cavitates_m3:
            hard_s += (pump.cavitation_wear_factor - 1.0) * (used_s - run_s)
        part["run_s"], part["hard_s"] = used_s, hard_s
    return pump_life.equivalent_age_s(
        now - since_s,
        used_s + hard_s,
        start_count,
        pump.life_age_s,
        pump.life_s,
        pump.life_start_count,
        pump.life_shape,
    )


def lamp_over_chance(world: Changeable) -> float:
    """Return whether the lamp has come to its end, less how often a lamp used as much does.

    Of mean 0 whoever replaces lamps and when, as long as they do not know how long this one would have lived:
    the cumulative hazard of a life is what its use is expected to fail, up to the failure.

    Returns
    -------
    float
        1 or 0 less (use/scale)^shape of the Weibull law, use counted up to the end of its life [-].
    """
    unit, (life_s, used_s) = world.scenario.uv, world.parts["lamp"].item()[:2]
    used_s += float(world.s["lamp_starts"]) * unit.start_wear_s
    expected: float = (min(used_s, life_s) / unit.lamp_life_s) ** unit.lamp_life_shape
    return float(used_s >= life_s) - expected


def tear(world: Changeable, stage: int) -> None:
    """Tear a cartridge: it catches nothing more and lets go of part of its load."""
    world.stages[stage]["torn"] = 1
    freed = world.loads[stage] * world.stages[stage]["released"]
    world.loads[stage] -= freed
    world.ledger[:CLASSES, TO_HOUSE] += freed
    world.note("failure", world.scenario.stages[stage].name, note="cartridge tore")


def fail(world: Changeable, name: str) -> None:
    """Let a part fail.

    Parameters
    ----------
    name : str
        "lamp", "pump" or "bladder".
    """
    world.parts[name]["broken"] = 1
    world.note("failure", name, note="end of life")
    if name == "lamp":
        world.p["lamp_works"] = 0
    elif name == "pump":
        world.p["pump_works"] = 0
    else:
        _waterlog(world)


def _waterlog(world: Changeable) -> None:
    """Leave a small air cushion at the pressure of the moment; the rest of the water no longer moves."""
    share = world.scenario.tank.waterlogged_share
    world.p["tank_m3"] = share * world.scenario.tank.volume_m3
    world.stuck_m3 = (1.0 - share) * float(world.s["water_m3"])
    world.s["water_m3"] = share * float(world.s["water_m3"])
