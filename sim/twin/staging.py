"""Faults set from outside at a moment of a run: each effect changes the house as wear or a hand would.

What comes in or goes out of the water's ledgers is booked there, so that a staged run balances too.
"""

import math
from collections.abc import Callable

import numpy as np

from sim.errors import InputError
from sim.twin import wear
from sim.twin.people.faults import Fault
from sim.twin.records import Lapse
from sim.twin.water.house import CLASSES, COLOUR, IN, REMOVED, SPILLED
from sim.twin.world import World

SPENT_BEDS = 50.0  # half-lives in bed volumes after which a carbon bed takes no more than its floor


def stage_fault(world: World, effect: str, amount: float, stage: int = -1) -> None:
    """Set a fault now.

    Parameters
    ----------
    effect : str
        A key of `EFFECTS`, or the name of a slip of the site.
    amount : float
        Of that effect, see the functions here; in SI.
    stage : int
        Stage it is at; -1 for none.
    """
    world.bring()
    if effect in EFFECTS:
        EFFECTS[effect](world, amount, stage)
    else:
        _leave(world, effect, stage)
    world.faults.set_valves(world, world.working)
    world.refresh()


def nothing_else_fails(world: World) -> None:
    """Let what stands in the house outlive the run, so that what fails is what was staged."""
    for part in world.parts.values():
        if not part["broken"]:
            part["life_s"] = math.inf


def _sleeve(world: World, amount: float, _stage: int) -> None:
    """Let a film on the sleeve pass a share of the light."""
    world.w["sleeve_film"] -= math.log(amount)


def _window(world: World, amount: float, _stage: int) -> None:
    """Let a film on the sensor window pass a share of the light."""
    world.w["window_film"] -= math.log(amount)


def _old_lamp(world: World, amount: float, _stage: int) -> None:
    """Let the lamp have burnt for a time [s]; its own life is not used up by it."""
    world.w["lamp_lit_s"] = amount


def _colour(world: World, amount: float, _stage: int) -> None:
    """Give the cistern's water an absorbance [1/m], and let the carbon be spent."""
    tint = amount * float(world.s["cistern_m3"])
    world.w["colour"] += tint
    world.ledger[COLOUR, IN] += tint
    for stage in world.stages:
        spent_m3 = SPENT_BEDS * stage["half_bed_volumes"] * stage["bed_m3"]
        stage["passed_m3"] = max(float(stage["passed_m3"]), float(spent_m3))


def _clog(world: World, amount: float, stage: int) -> None:
    """Fill a cartridge to a multiple of what it holds."""
    wanted = amount * world.stages[stage]["capacity_kg"] * world.c["fractions"]
    added = np.maximum(wanted - world.loads[stage], 0.0)
    world.loads[stage] += added
    world.ledger[:CLASSES, IN] += added


def _in_use(world: World, amount: float, stage: int) -> None:
    """Put in a cartridge that has caught a multiple of what it holds, whatever the one before had caught."""
    wanted = amount * world.stages[stage]["capacity_kg"] * world.c["fractions"]
    more = wanted - world.loads[stage]
    world.loads[stage] = wanted
    world.ledger[:CLASSES, IN] += np.maximum(more, 0.0)
    world.ledger[:CLASSES, REMOVED] += np.maximum(-more, 0.0)


def _tear(world: World, _amount: float, stage: int) -> None:
    wear.tear(world, stage)


def _precharge(world: World, amount: float, _stage: int) -> None:
    """Leave a precharge [Pa]."""
    world.ageing["precharge_pa"] = world.p["precharge_pa"] = amount


def _switch(world: World, amount: float, _stage: int) -> None:
    """Shift both points of the pressure switch [Pa]."""
    world.p["cut_in_pa"] += amount
    world.p["cut_out_pa"] += amount


def _low_cistern(world: World, amount: float, _stage: int) -> None:
    """Let the cistern run out down to a multiple of the water below its intake."""
    volume = float(world.s["cistern_m3"])
    lost = max(volume - amount * float(world.c["intake_m3"]), 0.0)
    share = lost / volume if volume > 0.0 else 0.0
    for solids, row in (
        (world.solids * share, slice(0, CLASSES)),
        (float(world.w["colour"]) * share, COLOUR),
    ):
        world.ledger[row, SPILLED] += solids
    world.solids -= world.solids * share
    world.w["colour"] *= 1.0 - share
    world.s["cistern_m3"] -= lost
    world.spilled_m3 += lost


def _half_shut(world: World, amount: float, _stage: int) -> None:
    """Let a valve take a multiple of what pipe and fittings take of the pressure."""
    world.c["pipe_quadratic"] *= amount


def _leave(world: World, name: str, stage: int) -> None:
    slip = next((slip for slip in world.scenario.slips if slip.name == name), None)
    if slip is None:
        known = ", ".join([*EFFECTS, *(slip.name for slip in world.scenario.slips)])
        raise InputError(f"fault: no effect {name!r}; wanted one of {known}")
    lapse = Lapse("slip", slip.name, slip.touches, world.env.now, stage=stage)
    world.faults.begin(world, Fault(slip, lapse, world.env.event()))


EFFECTS: dict[str, Callable[[World, float, int], None]] = {
    "film on window": _window,
    "film on sleeve": _sleeve,
    "old lamp": _old_lamp,
    "dark lamp": lambda world, _amount, _stage: wear.fail(world, "lamp"),
    "coloured water": _colour,
    "clogged cartridge": _clog,
    "cartridge in use": _in_use,
    "torn cartridge": _tear,
    "lost precharge": _precharge,
    "waterlogged tank": lambda world, _amount, _stage: wear.fail(world, "bladder"),
    "switch drift": _switch,
    "low cistern": _low_cistern,
    "half-shut valve": _half_shut,
}
