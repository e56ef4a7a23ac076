"""What is to blame while things stand as they stand: people, worn parts or nobody."""

from collections.abc import Iterable

from sim.plant import cause
from sim.scenario.effects import WIPES
from sim.twin import lamps
from sim.twin.changeable import Changeable
from sim.twin.records import Lapse


def blame(world: Changeable) -> dict[str, int]:
    """Return which cause stands behind a dark lamp, a shut valve, a film and the rest, by field of the plant.

    A film, an old lamp or a clogged cartridge is of a task put off or late while that task waits; a part that
    broke only of a task that was put off, as an ordinary wait belongs to the failure.
    """
    has = world.faults.has
    late = _effects(world, world.waiting.values())
    put_off = _effects(world, (one for one in world.waiting.values() if one.kind == "put off"))
    serviced = world.working is not None and world.working.shuts_water
    swapped = has("cartridges swapped")
    one_dark = lamps.one_dark(world)  # of two: the other is not to blame for what it cannot do alone
    lamp = cause.LAMP_DIED if one_dark else cause.LAMP_AGE
    return {
        "why_dark": _dark(world, put_off),
        "why_shut": cause.VALVE_SHUT if has("water shut") and not serviced else cause.SERVICE,
        "why_pump": _pump(world, put_off),
        "why_clogged": cause.OTHER_SLIP if swapped else _or_late("new cartridge" in late, cause.CLOGGED),
        "why_water": cause.OTHER_SLIP if swapped or has("cartridge missing") else cause.WATER,
        "why_lamp": _or_late("new lamp" in (put_off if one_dark else late), lamp),
        "why_film": _or_late("wiped sleeve" in late, cause.FILM),
        "why_dim": _or_late(bool(WIPES & late), cause.FILM),
    }


def _effects(world: Changeable, waiting: Iterable[Lapse]) -> set[str]:
    """Return what tasks that wait would have renewed."""
    tasks = {task.name: task.effects for task in world.scenario.tasks}
    return {effect for lapse in waiting for effect in tasks[lapse.task]}


def _or_late(waits: bool, otherwise: int) -> int:
    return cause.PUT_OFF if waits else otherwise


def _dark(world: Changeable, put_off: set[str]) -> int:
    if not lamps.work(world):
        return _or_late("new lamp" in put_off, cause.LAMP_DIED)
    working = world.working is not None and world.working.unplugs_uv
    return cause.UNPLUGGED if world.faults.has("unit dark") and not working else cause.SERVICE


def _pump(world: Changeable, put_off: set[str]) -> int:
    if world.parts["pump"]["broken"] or world.clock["standby_broken"]:
        return _or_late("new pump" in put_off, cause.PUMP_BROKEN)
    return cause.OTHER_SLIP if world.faults.has("pump off") else cause.OTHER
