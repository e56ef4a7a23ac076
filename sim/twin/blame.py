"""What is to blame while things stand as they stand: people, worn parts or nobody."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sim.plant import cause

if TYPE_CHECKING:
    from sim.twin.world import World

_WIPES = {"wipe sleeve", "wipe sensor window"}


def blame(world: World) -> None:
    """Tell the compiled side which cause stands behind a dark lamp, a shut valve, a film and the rest.

    A film, an old lamp or a clogged cartridge is of a task put off or late while that task waits; a part that
    broke only of a task that was put off, as an ordinary wait belongs to the failure.
    """
    p, has = world.p, world.faults.has
    late = {lapse.task for lapse in world.waiting.values()}
    put_off = {lapse.task for lapse in world.waiting.values() if lapse.kind == "put off"}
    p["why_dark"] = _dark(world, put_off)
    serviced = world.working is not None and world.working.shuts_water
    p["why_shut"] = cause.VALVE_SHUT if has("valve left shut") and not serviced else cause.SERVICE
    p["why_pump"] = _pump(world, put_off)
    swapped = has("stages in the wrong order")
    p["why_clogged"] = cause.OTHER_SLIP if swapped else _or_late("change cartridge" in late, cause.CLOGGED)
    p["why_water"] = cause.OTHER_SLIP if swapped or has("cartridge left out") else cause.WATER
    p["why_lamp"] = _or_late("replace lamp" in late, cause.LAMP_AGE)
    p["why_film"] = _or_late("wipe sleeve" in late, cause.FILM)
    p["why_dim"] = _or_late(bool(_WIPES & late), cause.FILM)


def _or_late(waits: bool, otherwise: int) -> int:
    return cause.PUT_OFF if waits else otherwise


def _dark(world: World, put_off: set[str]) -> int:
    if world.parts["lamp"]["broken"]:
        return _or_late("replace lamp" in put_off, cause.LAMP_DIED)
    working = world.working is not None and world.working.unplugs_uv
    return cause.UNPLUGGED if world.faults.has("unit left unplugged") and not working else cause.SERVICE


def _pump(world: World, put_off: set[str]) -> int:
    if world.parts["pump"]["broken"]:
        return _or_late("repair pump" in put_off, cause.PUMP_BROKEN)
    return cause.OTHER_SLIP if world.faults.has("pump left off") else cause.OTHER
