"""What a task leaves behind: the worn part is new, the dirt is counted as removed, the money is spent."""

from collections.abc import Callable

import numpy as np

from sim.plant import uv
from sim.scenario.care import Task
from sim.scenario.effects import TaskEffect
from sim.twin import lamps
from sim.twin.water.house import CLASSES, COLOUR, REMOVED
from sim.twin.world import World


def apply(world: World, task: Task, stage: int) -> float:
    """Give the world the effects of a finished task.

    Returns
    -------
    float
        Price of the parts that went in [money].
    """
    effects: dict[TaskEffect, Callable[[], None]] = {
        "new cartridge": lambda: _cartridge(world, stage),
        "rinsed cartridge": lambda: _rinse(world, stage, task.share),
        "new lamp": lambda: _lamp(world),
        "wiped sleeve": lambda: _wipe(world, "sleeve"),
        "wiped sensor window": lambda: _wipe(world, "window"),
        "set precharge": lambda: _precharge(world),
        "new pump": lambda: _pump(world),
        "new pressure tank": lambda: _tank(world),
        "cleared gutters": lambda: _gutters(world, task.share),
        "cleaned cistern": lambda: _cistern(world, task.share),
        "sample": lambda: None,  # goes to the laboratory when the work is done
    }
    for effect in task.effects:
        effects[effect]()
    price = task.part_price * (world.scenario.uv.units if "new lamp" in task.effects else 1)
    if "new cartridge" not in task.effects:
        return price
    one = world.scenario.stages[stage]
    return one.price * one.housings + price


def _cartridge(world: World, stage: int) -> None:
    world.ledger[:CLASSES, REMOVED] += world.loads[stage]
    world.loads[stage] = 0.0
    for name in ("passed_m3", "torn", "worst_pa"):
        world.stages[stage][name] = 0
    world.fit_cartridge(stage)
    world.installed_s[stage] = world.env.now
    world.costs.cartridges += world.scenario.stages[stage].housings


def _rinse(world: World, stage: int, share: float) -> None:
    """Wash a share of the dirt off a cartridge that stays in."""
    gone = world.loads[stage] * share
    world.ledger[:CLASSES, REMOVED] += gone
    world.loads[stage] -= gone


def _wipe(world: World, surface: str) -> None:
    unit = world.scenario.uv
    film, fixed = uv.film_after_wipe(
        float(world.w[f"{surface}_film"]), float(world.w[f"{surface}_fixed"]), unit.wiped, unit.residue
    )
    world.w[f"{surface}_film"], world.w[f"{surface}_fixed"] = film, fixed


def _lamp(world: World) -> None:
    for name in lamps.NAMES[: world.scenario.uv.units]:
        world.renew(name)
    world.w["lamp_lit_s"] = 0.0
    world.s["lamp_starts"] = 0


def _precharge(world: World) -> None:
    world.drain_tank()
    world.ageing["precharge_pa"] = world.scenario.tank.precharge_pa
    if not world.parts["bladder"]["broken"]:
        world.p["precharge_pa"] = world.scenario.tank.precharge_pa


def _gutters(world: World, share: float) -> None:
    world.w["neglect"] *= 1.0 - share


def _cistern(world: World, share: float) -> None:
    """Take out a share of the sludge and a stated volume of water with what it carries."""
    gone = world.sludge * share
    volume = float(world.s["cistern_m3"])
    lost = min(world.scenario.goals.cleaning_loss_m3, volume)
    thrown = lost / volume if volume > 0.0 else 0.0
    tint = float(world.w["colour"]) * thrown
    dirt = world.solids * thrown
    world.sludge -= gone
    world.solids -= dirt
    world.w["colour"] -= tint
    world.ledger[:CLASSES, REMOVED] += gone + dirt
    world.ledger[COLOUR, REMOVED] += tint
    world.s["cistern_m3"] -= lost
    world.spilled_m3 += lost


def _pump(world: World) -> None:
    if world.standby.renew():
        world.p["pump_works"] = 1
        world.p["shutoff_head_m"] = world.scenario.pump.shutoff_head_m


def _tank(world: World) -> None:
    world.drain_tank()
    world.renew("bladder")
    world.ageing["precharge_pa"] = world.scenario.tank.precharge_pa
    world.p["tank_m3"] = np.float64(world.scenario.tank.volume_m3)
    world.p["precharge_pa"] = world.scenario.tank.precharge_pa
