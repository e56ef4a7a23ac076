"""What a task leaves behind: the worn part is new, the dirt is counted as removed, the money is spent."""

import numpy as np

from sim.plant import uv
from sim.scenario.care import Task
from sim.twin.water.house import CLASSES, COLOUR, REMOVED
from sim.twin.world import World

SLUDGE_REMOVED = 0.95  # share of the sludge a cleaning takes out [A]


def apply(world: World, task: Task, stage: int) -> float:
    """Give the world the effect of a finished task."""
    effects = {
        "wipe sleeve": lambda: _wipe(world, "sleeve"),
        "wipe sensor window": lambda: _wipe(world, "window"),
        "replace lamp": lambda: _lamp(world),
        "restore precharge": lambda: _precharge(world),
        "clear gutters and diverter": lambda: _gutters(world),
        "clean cistern": lambda: _cistern(world),
        "repair pump": lambda: _pump(world),
        "repair pressure tank": lambda: _tank(world),
        "take sample": lambda: None,
    }
    if task.name == "change cartridge":
        _cartridge(world, stage)
        one = world.scenario.stages[stage]
        world.costs.cartridges += one.housings
        return one.price * one.housings + task.part_price
    effects[task.name]()
    return task.part_price


def _cartridge(world: World, stage: int) -> None:
    world.ledger[:CLASSES, REMOVED] += world.loads[stage]
    world.loads[stage] = 0.0
    for name in ("passed_m3", "torn", "worst_pa"):
        world.stages[stage][name] = 0
    world.installed_s[stage] = world.env.now


def _wipe(world: World, surface: str) -> None:
    unit = world.scenario.uv
    film, fixed = uv.film_after_wipe(
        float(world.w[f"{surface}_film"]), float(world.w[f"{surface}_fixed"]), unit.wiped, unit.residue
    )
    world.w[f"{surface}_film"], world.w[f"{surface}_fixed"] = film, fixed


def _lamp(world: World) -> None:
    world.renew("lamp")
    world.w["lamp_lit_s"] = 0.0
    world.s["lamp_starts"] = 0


def _precharge(world: World) -> None:
    world.drain_tank()
    world.precharge_pa = world.scenario.tank.precharge_pa
    if not world.parts["bladder"]["broken"]:
        world.p["precharge_pa"] = world.precharge_pa


def _gutters(world: World) -> None:
    world.w["neglect"] = 0.0


def _cistern(world: World) -> None:
    """Take out sludge and a stated volume of water with what it carries."""
    gone = world.sludge * SLUDGE_REMOVED
    volume = float(world.s["cistern_m3"])
    lost = min(world.scenario.goals.cleaning_loss_m3, volume)
    share = lost / volume if volume > 0.0 else 0.0
    tint = float(world.w["colour"]) * share
    dirt = world.solids * share
    world.sludge -= gone
    world.solids -= dirt
    world.w["colour"] -= tint
    world.ledger[:CLASSES, REMOVED] += gone + dirt
    world.ledger[COLOUR, REMOVED] += tint
    world.s["cistern_m3"] -= lost
    world.spilled_m3 += lost


def _pump(world: World) -> None:
    world.renew("pump")
    world.p["pump_works"] = 1
    world.p["shutoff_head_m"] = world.scenario.pump.shutoff_head_m


def _tank(world: World) -> None:
    world.drain_tank()
    world.renew("bladder")
    world.precharge_pa = world.scenario.tank.precharge_pa
    world.p["tank_m3"] = np.float64(world.scenario.tank.volume_m3)
    world.p["precharge_pa"] = world.precharge_pa
