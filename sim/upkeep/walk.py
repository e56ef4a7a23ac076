"""A procedure walked through step by step: where valves and plugs stand, what is under pressure, what is lit.

Four rooms of water: supply behind the pump, pressure tank, train, house. Open valves join them.
Each step is done to its end, so a room that drains has drained before the next step.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

# valve, the two rooms it joins, and whether they are joined when the train lacks the valve
_DOORS = (
    ("inlet valve", "supply", "train", True),
    ("outlet valve", "train", "house", True),
    ("bypass valve", "supply", "house", False),
    ("tank valve", "supply", "tank", True),
)
_OUTLETS = {
    "tank drain": "tank",
    "sampling valve before UV": "train",
    "sampling valve after UV": "train",
    "tap upstairs": "house",
    "housing": "train",
    "UV chamber": "train",
}
ROOMS = ("supply", "tank", "train", "house")
_WET = {"housing": "open", "UV chamber": "open", "sensor": "out"}  # opening these opens the train
_LIGHT = {"UV chamber": "open", "lamp": "out", "sensor": "out"}  # and these let UV light out


@dataclass(frozen=True)
class Move:
    """One step as the walk needs it: its name, the states it wants before, what it works."""

    name: str
    needs: tuple[str, ...]
    operates: Mapping[str, str]


@dataclass(frozen=True)
class Walked:
    """Where the plant stands after the last step.

    Attributes
    ----------
    positions : mapping of str to str
        Position of every device.
    faults : tuple of str
        What went wrong on the way, with the step; empty when nothing did.
    water_on : bool
        Whether water reaches the house through the train.
    lit : bool
        Whether the UV unit is closed, full, plugged in and has its lamp.
    raw : bool
        Whether water reaches the house round the train.
    """

    positions: Mapping[str, str]
    faults: tuple[str, ...]
    water_on: bool
    lit: bool
    raw: bool


class _Plant:
    """Positions and pressures while people work."""

    def __init__(self, positions: Mapping[str, str]):
        self.at = dict(positions)
        self.under_pressure = dict.fromkeys(ROOMS, True)
        self.full = True
        self.faults: list[str] = []

    def joined(self) -> list[set[str]]:
        """Return groups of rooms that open valves join."""
        groups = [{room} for room in ROOMS]
        for valve, one, other, without in _DOORS:
            if self.at[valve] == "open" if valve in self.at else without:
                first = next(group for group in groups if one in group)
                second = next(group for group in groups if other in group)
                if first is not second:
                    first |= second
                    groups.remove(second)
        return groups

    def fed(self, room: str) -> bool:
        """Return whether the running pump reaches a room."""
        group = next(group for group in self.joined() if room in group)
        return "supply" in group and self.at.get("pump switch", "on") == "on"

    def settle(self) -> None:
        """Let pressures follow the valves."""
        running = {room for device, room in _OUTLETS.items() if self.at.get(device) == "open"}
        for group in self.joined():
            held = any(self.under_pressure[room] for room in group)
            pressed = ("supply" in group and self.fed("supply")) or (held and not group & running)
            for room in group:
                self.under_pressure[room] = pressed
        if self.at["housing"] == "open" or self.at["UV chamber"] == "open":
            self.full = False
        elif self.fed("train"):
            self.full = True

    def is_so(self, state: str) -> bool:
        """Return whether the plant is in a state that a step asks for."""
        states = {
            "water shut": not self.fed("train"),
            "relieved": not self.under_pressure["train"],
            "unplugged": self.at["UV plug"] == "out",
            "sensor unplugged": self.at.get("sensor plug", "out") == "out",
            "pump off": self.at.get("pump switch") == "off",
            "tank drained": not self.under_pressure["tank"],
        }
        return states[state]

    def work(self, device: str, position: str) -> None:
        """Bring one device to a position and note what that does."""
        if device not in self.at:
            self.faults.append(f"{device}: this train has none")
            return
        if _WET.get(device) == position and self.under_pressure["train"]:
            self.faults.append(f"{device}: opened under pressure")
        if device == "tank" and position == "open" and self.under_pressure["tank"]:
            self.faults.append("tank: opened with water in it")
        if _LIGHT.get(device) == position and self.at["UV plug"] == "in":
            self.faults.append(f"{device}: {position} with the unit plugged in")
        if device == "UV plug" and position == "in" and not self.whole():
            self.faults.append("UV plug: in with the chamber open or empty, or without its lamp")
        opens = device == "outlet valve" and position == "open"
        if opens and not (self.at["UV plug"] == "in" and self.whole()):
            self.faults.append("outlet valve: opened with the unit dark")
        self.at[device] = position
        self.settle()

    def whole(self) -> bool:
        """Return whether the UV unit is full, closed and has lamp, sleeve and sensor."""
        parts = all(self.at[part] == "in" for part in ("lamp", "sleeve", "sensor"))
        return parts and self.full and self.at["UV chamber"] == "shut"


def walk(moves: Sequence[Move] | Iterable[Move], positions: Mapping[str, str]) -> Walked:
    """Do the steps of a procedure one after the other, just as they stand.

    Parameters
    ----------
    moves : sequence of Move
        Steps in order.
    positions : mapping of str to str
        Where every device of this train stands before: fittings it has, and its parts.

    Returns
    -------
    Walked
        The plant after the last step, and what went wrong on the way.

    Examples
    --------
    >>> rest = {"UV plug": "in", "lamp": "in", "sleeve": "in", "sensor": "in", "UV chamber": "shut"}
    >>> rest |= {"housing": "shut", "cartridge": "in", "inlet valve": "open", "tap upstairs": "shut"}
    >>> walk([Move("off", (), {"housing": "open"})], rest).faults
    ('off: housing: opened under pressure',)
    """
    plant = _Plant(positions)
    plant.settle()
    faults: list[str] = []
    for move in moves:
        plant.faults = [f"wants {state}" for state in move.needs if not plant.is_so(state)]
        for device, position in move.operates.items():
            plant.work(device, position)
        faults += [f"{move.name}: {fault}" for fault in plant.faults]
    closed = plant.at["housing"] == "shut" and plant.at["cartridge"] == "in"
    return Walked(
        positions=plant.at,
        faults=tuple(faults),
        water_on=closed and plant.fed("house") and plant.fed("train"),
        lit=plant.whole() and plant.at["UV plug"] == "in",
        raw=plant.at.get("bypass valve") == "open",
    )
