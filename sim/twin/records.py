"""What is kept of a run besides water: lines of the diary, parts and their lives, money."""

from dataclasses import dataclass


@dataclass
class Event:
    """One line of the history's diary."""

    time_s: float
    kind: str
    subject: str
    value: float = float("nan")
    unit: str = ""
    note: str = ""
    cost: float = 0.0


@dataclass(frozen=True)
class Part:
    """A part that can break, as it stood at the end: its life, and how much of it was used up."""

    life_s: float
    used_s: float
    broken: bool
    number: int


@dataclass
class Costs:
    """Money spent so far, by what it was for."""

    parts: float = 0.0
    labour: float = 0.0
    callouts: float = 0.0
    water: float = 0.0
    owner_s: float = 0.0
    cartridges: int = 0
    visits: int = 0
    tanker_loads: int = 0
    samples: int = 0
    finds: int = 0  # samples that showed coliforms
