"""What is kept of a run besides water: lines of the diary, lapses, parts and their lives, money."""

import math
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


@dataclass
class Lapse:
    """One thing people did wrong, or put off: from when to when, and how it was noticed."""

    kind: str  # "slip", "put off" or "late"
    subject: str  # name of the slip, or of the task
    touches: tuple[str, ...]  # "water", "dose", "reading"
    start_s: float
    task: str = ""
    step: str = ""
    who: str = ""
    row: int = -1  # of the task in the tables of chance
    stage: int = -1
    noticed_s: float = math.inf
    route: str = ""
    end_s: float = math.inf


@dataclass(frozen=True)
class Chance:
    """A chance, known beforehand, that a piece of work leaves something that lets water through undosed."""

    subject: str  # name of the slip
    probability: float
    begin_s: float
    mean_s: float  # mean wait until someone minds it
    mend_s: float  # from then until water is dosed again
    round_s: float  # a round of readings shows it then
    visited: bool  # whoever works at the train next puts it right
    wait_ratio: float  # over its mean, as drawn; nan where nothing was left


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
