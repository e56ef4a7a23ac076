"""A case: site, chance, what is staged when and what was done, as one TOML file."""

import tomllib
from pathlib import Path
from typing import Any, Literal

import numpy as np
from pydantic import Field, ValidationError, model_validator

from sim.diary.followed import check_followed
from sim.drill.families import family, possible
from sim.errors import InputError
from sim.scenario.read import load
from sim.scenario.read.content import content_of, text_of
from sim.scenario.read.refusal import one_line, refusal
from sim.scenario.scenario import Scenario
from sim.scenario.values.quantity import Label, Part
from sim.twin.streams import Source, stream

STARTS, LASTS, WITHIN = 120, 60, 15  # day of the run it begins on; days; days within which the fault comes
LATEST = 300  # day a case can begin on
YEARS = 1
MOST_MOVES = 5000
LARGEST_SEED = 2**31
RELIEVED = "relieve, unplug, open"  # the one order in which nobody is hurt
ORDERS = (RELIEVED, "unplug, relieve, open", "open")


class Staged(Part):
    """One fault and the day on which it begins, at three in the morning."""

    name: Label
    day: int = Field(ge=1, le=365)


class Move(Part):
    """One thing the trainee did."""

    move: Literal["wait", "check", "act", "believe"]
    what: str = (
        ""  # check, task or other act, or the cause believed; of a wait empty, or "until something happens"
    )
    stage: Label | None = None
    days: int = Field(default=1, ge=1, le=365)
    probability: float = Field(default=0.5, ge=0.0, le=1.0)
    order: Literal["relieve, unplug, open", "unplug, relieve, open", "open"] = "relieve, unplug, open"


class Case(Part):
    """One case of a drill."""

    site: Label = load.DEMO
    seed: int = Field(default=1, ge=0, le=LARGEST_SEED)
    starts: int = Field(default=STARTS, ge=1, le=LATEST)
    ends: int = Field(default=STARTS + LASTS, ge=2, le=365)
    fault: tuple[Staged, ...] = Field(default=(), max_length=1)  # drawn unseen by the seed when absent
    moves: tuple[Move, ...] = Field(default=(), alias="move", max_length=MOST_MOVES)

    @model_validator(mode="after")
    def _in_order(self) -> "Case":
        for one in self.fault:
            if not self.starts <= one.day < self.ends:
                raise ValueError(f"fault: day {one.day} is outside days {self.starts} to {self.ends - 1}")
        if self.ends < self.starts + 2:
            raise ValueError(f"ends: read {self.ends}; wanted two days or more after starts ({self.starts})")
        return self

    @property
    def staged(self) -> tuple[Staged, ...]:
        """What is staged: as written, or as the seed has it."""
        return self.fault or (_drawn(self.site, self.seed, self.starts, self.ends),)

    @property
    def scenario(self) -> Scenario:
        """The site, in which nobody misses a step and no tanker comes unasked: all is left to the trainee."""
        sc = load.load(self.site)
        check_followed(sc, "a drill")
        alone = sc.people.model_copy(update={"slips": sc.people.slips.model_copy(update={"on": False})})
        unasked = sc.cistern.model_copy(update={"top_up_below": 0.0})
        return sc.model_copy(update={"people": alone, "cistern": unasked})


def starts_at(day: int) -> int:
    """Return the day of the first year on which a case begins that is to begin on a day of any year."""
    return min(max(day % 365, 1), LATEST)


def drawn(site: str, seed: int, fault: str | None = None, starts: int = STARTS) -> Case:
    """Return a case with a fault drawn unseen, or one that is named, on a day drawn unseen."""
    one = _drawn(site, seed, starts, starts + LASTS)
    if fault is not None:
        one = Staged(name=family(fault).name, day=one.day)
    if one.name not in possible(load.load(site)):
        raise InputError(f"fault: {one.name!r} cannot be at this site; it has no such stage")
    return Case(site=site, seed=seed, starts=starts, ends=starts + LASTS, fault=(one,))


def _drawn(site: str, seed: int, starts: int, ends: int) -> Staged:
    names, rng = possible(load.load(site)), stream(seed, 0, Source.DRILL)
    name = names[int(rng.integers(len(names)))]
    return Staged(name=name, day=starts + 1 + int(rng.integers(min(WITHIN, max(ends - starts - 1, 1)))))


def noise(case: Case, day: int, what: int, size: int) -> np.ndarray:
    """Return the noise of one reading on one day: read twice, it is the same."""
    key = (0, int(Source.DRILL), day, what)
    return np.random.default_rng(np.random.SeedSequence(case.seed, spawn_key=key)).standard_normal(size)


def read_case(path: Path) -> Case:
    """Read a case; refused in one line."""
    text = text_of(content_of(path, str(path), "a case of a drill"), str(path))
    try:
        data: dict[str, Any] = tomllib.loads(text)
        case = Case.model_validate(data)
        for one in case.fault:
            family(one.name)
        return case
    except ValidationError as error:
        raise InputError(one_line(f"{path}: {refusal(error, data)}")) from None
    except (RecursionError, ValueError, InputError) as error:
        raise InputError(one_line(f"{path}: {error}")) from None


def case_text(case: Case) -> str:
    """Return a case as TOML."""
    lines = ["# One case of a drill: it plays to the same bytes anywhere."]
    lines += [f"{name} = {_value(getattr(case, name))}" for name in ("site", "seed", "starts", "ends")]
    for one in case.fault:
        lines += ["", "[[fault]]", f"name = {_value(one.name)}", f"day = {one.day}"]
    for move in case.moves:
        kept = {name: value for name, value in move.model_dump().items() if _said(move, name, value)}
        lines += ["", "[[move]]", *(f"{name} = {_value(value)}" for name, value in kept.items())]
    return "\n".join(lines) + "\n"


def _said(move: Move, name: str, value: object) -> bool:
    default = Move.model_fields[name].get_default()
    return name == "move" or value != default or (name, move.move) in {("probability", "believe")}


def _value(value: object) -> str:
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    return repr(value)
