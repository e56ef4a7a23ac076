"""Pressure, air and dose in each segment of a train while people work on it.

Five segments in the order of flow: K pressure tank and pump, H housings, U UV chamber, O behind it, N house.
"""

from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass, field
from functools import cache, cached_property

BAR_PA = 1e5
COLUMN_PA_M = 9_810.0  # of water: what a tap higher up leaves standing below it
MOST_PA = 0.15 * BAR_PA  # left in what is opened [A]
CHAIN = "KHUON"
NAMES = {"K": "tank", "H": "housings", "U": "chamber", "O": "pipe behind the unit", "N": "house"}
COCKS = {
    "tank drain": "K",
    "sampling valve before UV": "H",
    "relief button": "H",
    "chamber sampling valve": "U",
    "sampling valve after UV": "O",
}
SENSORS = ("sensor", "sensor of a dry port")
TAPS = ("lowest tap", "tap upstairs")
OPENED = {
    ("tank", "open"): "K",
    ("housing", "open"): "H",
    ("UV chamber", "open"): "U",
    ("sensor", "out"): "U",
}
SHUTOFF = {"shut-off valve at inlet": ("H", "U"), "shut-off valve at outlet": ("U", "O")}
LEVER = "shut-off lever"


@dataclass(frozen=True)
class Train:
    """What a train has, and what its walls hold.

    Attributes
    ----------
    fittings : frozenset of str
        Names of its valves, cocks, plugs and switches.
    cut_out_pa : float
        Highest pressure of the pump [Pa].
    tap_heights_m : mapping of str to float
        Of the lowest tap and of a tap upstairs over the housings [m].
    """

    fittings: frozenset[str]
    cut_out_pa: float = 4.0 * BAR_PA
    tap_heights_m: Mapping[str, float] = field(
        default_factory=lambda: {"lowest tap": 1.0, "tap upstairs": 5.0}
    )

    @cached_property
    def cuts(self) -> tuple[tuple[str, str], ...]:
        """Pairs of segments that the UV shut-off valve parts when the unit is dark."""
        return tuple(pair for name, pair in SHUTOFF.items() if name in self.fittings)


@cache  # few sets of pairs there are, asked for at every step of every procedure
def _reached(one: str, edges: tuple[tuple[str, str], ...]) -> frozenset[str]:
    found = {one}
    while grown := {n for pair in edges if not found.isdisjoint(pair) for n in pair} - found:
        found |= grown
    return frozenset(found)


class Segments:
    """Where valves stand, and what that does to the water."""

    def __init__(self, train: Train, at: Mapping[str, str]):
        """Begin under pressure and dosed, with all devices `at` their positions on a `train`."""
        self.train, self.at = train, dict(at)
        self.pressure_pa = dict.fromkeys(CHAIN, train.cut_out_pa)
        self.tank_full = True
        self.air: set[str] = set()
        self.undosed: set[str] = set()  # segments O and N
        self.read = True
        self.warm = True
        self.unread: set[str] = set()  # what was wiped and not yet read by itself
        self.proven: set[str] = set()
        self.cool = False
        self.opened: set[str] = set()

    def is_at(self, device: str, position: str) -> bool:
        """Return whether `device` is there and stands at `position`.

        Parameters
        ----------
        device : str
            Valve, plug, switch or part.
        position : str
            Such as "open", "out" or "off".
        """
        return self.at.get(device) == position

    @property
    def lit(self) -> bool:
        """Whether the unit gives light."""
        return self.is_at("UV plug", "in") and self.unit_whole

    @property
    def unit_whole(self) -> bool:
        """Whether lamp, sleeve and sensor are in their places."""
        return all(self.at.get(part, "in") == "in" for part in ("lamp", "sleeve", *SENSORS))

    def edges(self) -> tuple[tuple[str, str], ...]:
        """Return the pairs of segments that are joined."""
        held = self.held
        found = [pair for pair in (("H", "U"), ("U", "O")) if held or pair not in self.train.cuts]
        if self.at.get("inlet valve", "open") == "open":
            found.append(("K", "H"))
        if self.at.get("outlet valve", "open") == "open":
            found.append(("O", "N"))
        if self.is_at("bypass valve", "open"):
            found.append(("K", "N"))
        return tuple(found)

    @property
    def held(self) -> bool:
        """Whether the shut-off valve is open: by light, or by its lever."""
        return self.lit or self.is_at(LEVER, "open")

    def joined(self, one: str) -> frozenset[str]:
        """Return all segments that water of `one` can reach.

        Parameters
        ----------
        one : str
            Letter of a segment: K, H, U, O or N.
        """
        return _reached(one, self.edges())

    def live(self, one: str) -> bool:
        """Return whether pump or tank reaches the segment `one`.

        Parameters
        ----------
        one : str
            Letter of a segment: K, H, U, O or N.
        """
        return self._fed(self.joined(one))

    def _fed(self, group: Set[str]) -> bool:
        """Return whether pump or tank reaches segments that are joined."""
        return "K" in group and (self.is_at("pump switch", "on") or self.tank_full)

    def outlets(self, segments: Iterable[str]) -> dict[str, float]:
        """Return the open cocks and taps of some `segments`, with their height [m].

        Parameters
        ----------
        segments : iterable of str
            Letters of the segments.
        """
        found = {cock: 0.0 for cock, n in COCKS.items() if n in segments and self.is_at(cock, "open")}
        if "N" in segments:
            heights_m = self.train.tap_heights_m
            found |= {tap: heights_m[tap] for tap in TAPS if self.is_at(tap, "open")}
        return found

    def settle(self) -> None:
        """Let pressures follow the valves: joined water has that of the pump, or its highest."""
        todo = set(CHAIN)
        while todo:
            group = self.joined(min(todo))
            todo -= group
            highest_pa = max(self.pressure_pa[n] for n in group)
            pressed_pa = self.train.cut_out_pa if self._fed(group) else highest_pa
            self.pressure_pa.update(dict.fromkeys(group, pressed_pa))

    def run(self) -> str:
        """Wait at what is open, until it stops or runs evenly; return why it does neither.

        Where the pump is off and its tank joined, the tank empties too.
        """
        ran = False
        for start in CHAIN:
            group = self.joined(start)
            outlets = self.outlets(group)
            if start != min(group, key=CHAIN.index) or not outlets:
                continue
            ran = True
            if "K" in group:
                self._flow(group, outlets)
            if "tank drain" in outlets and "H" in group and "inlet valve" in self.at:
                with_it = ", ".join(NAMES[n] for n in CHAIN[1:] if n in group)
                return f"the tank drains while joined to {with_it}, and air comes in"
            if "K" in group and self.is_at("pump switch", "on"):
                continue
            if "K" in group:
                self.tank_full = False
            left_pa = min(outlets.values()) * COLUMN_PA_M
            for n in group:
                self.pressure_pa[n] = min(self.pressure_pa[n], left_pa)
        return "" if ran else "nothing is open that could run"

    def _flow(self, group: Set[str], outlets: Mapping[str, float]) -> None:
        """Send water from the tank to what is open: it takes air along, and light if there is any."""
        for outlet in outlets:
            end = COCKS.get(outlet, "N")
            passed = set(CHAIN[: CHAIN.index(end) + 1])
            round_it = end == "N" and self.is_at("bypass valve", "open")
            if end in "ON" and passed <= group and (round_it or not self.lit):
                self.undosed |= {"O", "N"} & (passed | group)
            elif end in "ON" and self.read:
                self.undosed -= {"O"}
            if passed <= group:
                self.air -= passed - self._own_cock(end)

    def _own_cock(self, end: str) -> set[str]:
        """Return the housings where they have a cock of their own and `end` is beyond: air stays below it."""
        own = any(n == "H" and cock in self.at for cock, n in COCKS.items())
        return {"H"} if own and end != "H" else set()

    def prove(self, one: str) -> str:
        """Prove zero in the segment `one`, at a cock that it is joined to; return why it is no proof.

        Parameters
        ----------
        one : str
            Letter of a segment: K, H, U, O or N.
        """
        cocks = [name for name, n in COCKS.items() if n in self.joined(one) and name in self.at and n != "K"]
        if not cocks and (self.train.cuts or one == "K"):
            return f"no cock is joined to the {NAMES[one]}: zero cannot be proven past the shut-off valve"
        if self.pressure_pa[one] > MOST_PA:
            return f"{NAMES[one]} at {self.pressure_pa[one] / BAR_PA:.2f} bar"
        self.proven.add(one)
        return ""
