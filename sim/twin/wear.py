"""What wear comes to: a cartridge tears, a part fails, a lamp has outlived its chance or not."""

from sim.twin import lamps
from sim.twin.changeable import Changeable
from sim.twin.standby import TOOK_OVER
from sim.twin.water.house import CLASSES, TO_HOUSE


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
        One of `sim.twin.water.house.PARTS`.
    """
    if name == "pump" and world.standby.take_over():
        world.note("failure", name, note=TOOK_OVER)
        return
    world.parts[name]["broken"] = 1
    world.note("failure", name, note="end of life")
    if name in lamps.NAMES:
        world.p["lamp_works"] &= lamps.work(world)
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
