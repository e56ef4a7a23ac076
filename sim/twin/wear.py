"""What a day does to the parts: precharge, switch, pump and lamp wear, a cartridge tears, a part fails."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from sim.constants import DAY_S
from sim.twin.water.house import CLASSES, TO_HOUSE

if TYPE_CHECKING:
    from sim.twin.world import World

LEAST_BAND_PA = 1e4  # a switch that has drifted down to nothing still has a spring of its own [A]


def age(world: World) -> None:
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
        extra_s = float(world.s["lamp_starts"]) * sc.uv.start_wear_s if name == "lamp" else 0.0
        if not part["broken"] and part["used_s"] + extra_s >= part["life_s"]:
            fail(world, name)


def tear(world: World, stage: int) -> None:
    """Tear a cartridge: it catches nothing more and lets go of part of its load."""
    world.stages[stage]["torn"] = 1
    freed = world.loads[stage] * world.stages[stage]["released"]
    world.loads[stage] -= freed
    world.ledger[:CLASSES, TO_HOUSE] += freed
    world.note("failure", world.scenario.stages[stage].name, note="cartridge tore")


def fail(world: World, name: str) -> None:
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


def _waterlog(world: World) -> None:
    """Leave a small air cushion at the pressure of the moment; the rest of the water no longer moves."""
    share = world.scenario.tank.waterlogged_share
    world.p["tank_m3"] = share * world.scenario.tank.volume_m3
    world.stuck_m3 = (1.0 - share) * float(world.s["water_m3"])
    world.s["water_m3"] = share * float(world.s["water_m3"])
