"""What was done, said and believed in a case so far."""

from dataclasses import dataclass, field

from sim.drill.case import Move
from sim.drill.sight import Seen


@dataclass(frozen=True)
class Belief:
    """A cause somebody named."""

    day: int
    cause: str
    probability: float


@dataclass
class Log:
    """What was done and said so far."""

    said: list[tuple[int, str]] = field(default_factory=list)  # day, words shown
    beliefs: list[Belief] = field(default_factory=list)
    acts: list[tuple[int, str, bool]] = field(default_factory=list)  # day, act, whether it mended the fault
    moves: list[Move] = field(default_factory=list)
    displays: dict[int, float] = field(default_factory=dict)  # as seen
    looks: list[tuple[int, Seen]] = field(default_factory=list)  # day, what was looked at
    minutes: float = 0.0  # of looking
    stopped: str = ""
    asked_day: int = 0  # on which the truth was asked for
