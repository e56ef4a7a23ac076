"""A procedure walked through step by step: what each step harms, and what is left behind at its end."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from sim.upkeep.segments import Train
from sim.upkeep.work import SHUT_COCKS, Work


@dataclass(frozen=True)
class Move:
    """One step as the walk needs it: name, states it wants before, what it works, what else it does."""

    name: str
    needs: tuple[str, ...]
    operates: Mapping[str, str]
    acts: tuple[str, ...] = ()


@dataclass(frozen=True)
class Walked:
    """Where the plant stands after the last step.

    Attributes
    ----------
    positions : mapping of str to str
        Position of every device.
    faults : tuple of str
        What went wrong on the way, with the step; empty when nothing did.
    notes : tuple of str
        What the next person must know though nothing went wrong.
    left : tuple of str
        What is still amiss when all is done.
    water_on : bool
        Whether water reaches the house through the train.
    lit : bool
        Whether the UV unit is closed, full, plugged in and has its lamp.
    raw : bool
        Whether water reaches the house round the train.
    """

    positions: Mapping[str, str]
    faults: tuple[str, ...]
    notes: tuple[str, ...]
    left: tuple[str, ...]
    water_on: bool
    lit: bool
    raw: bool

    @property
    def refused(self) -> tuple[str, ...]:
        """All that speaks against the order, on the way and at the end."""
        return self.faults + self.left


def walk(
    moves: Sequence[Move] | Iterable[Move], positions: Mapping[str, str], train: Train, stood: bool = False
) -> Walked:
    """Do the steps of a procedure one after the other, just as they stand.

    Parameters
    ----------
    moves : sequence of Move
        Steps in order.
    positions : mapping of str to str
        Where every device of this train stands before: fittings it has, and its parts.
    train : Train
        Its fittings, cut-out and taps.
    stood : bool, optional
        Whether water stood behind the unit for weeks.

    Returns
    -------
    Walked
        The plant after the last step, and what went wrong on the way.

    Examples
    --------
    >>> rest = {"UV plug": "in", "lamp": "in", "housing": "shut", "pump switch": "on"}
    >>> walk([Move("off", (), {"housing": "open"})], rest, Train(frozenset(rest))).faults[0]
    'off: housing: opened under pressure, housings at 4.00 bar'
    """
    work = Work(train, positions)
    if stood:
        work.water.undosed = {"O", "N"}
    faults: list[str] = []
    for move in moves:
        work.faults = [f"wants {state}" for state in move.needs if not work.is_so(state)]
        first = [act for act in move.acts if act == SHUT_COCKS]
        for act in first:
            work.act(act)
        for device, position in move.operates.items():
            work.work(device, position)
        for act in move.acts:
            if act not in first:
                work.act(act)
        faults += [f"{move.name}: {fault}" for fault in work.faults]
    water = work.water
    closed = work.whole() and water.at.get("cartridge", "in") == "in"
    left = work.left()
    return Walked(
        positions=water.at,
        faults=tuple(faults),
        notes=tuple(dict.fromkeys(work.notes)),
        left=tuple(left),
        water_on=closed and water.live("N") and "U" in water.joined("N"),
        lit=work.whole() and water.lit and not water.air,
        raw=water.is_at("bypass valve", "open"),
    )
