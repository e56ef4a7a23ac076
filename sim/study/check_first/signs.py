"""Signs a person meets: their causes, checks and mends, read from the table that comes with the project."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from sim.errors import InputError
from sim.scenario.nearest import nearest


@dataclass(frozen=True)
class Cause:
    """What may be behind a sign.

    Attributes
    ----------
    share : float
        Of the cases, before anything is checked.
    effect : str
        What a task must leave behind to mend it; empty where `mend` says it, or where somebody is called.
    stage : str
        "solids" or "carbon" where the task is on a stage, else empty.
    mend : str
        What restores it, in words.
    minutes : float
        Of a mend that is no task.
    licensed : bool
        Whether it is for a licensed person.
    """

    name: str
    share: float
    effect: str = ""
    stage: str = ""
    mend: str = ""
    minutes: float = 0.0
    licensed: bool = False


@dataclass(frozen=True)
class Check:
    """Something to look at.

    Attributes
    ----------
    yes, no : str
        What the two results are called.
    chances : tuple of float
        Of "yes", by cause, in the order of the causes.
    """

    name: str
    minutes: float
    yes: str
    no: str
    chances: tuple[float, ...]


@dataclass(frozen=True)
class Sign:
    """A sign with its causes and checks; those of a low UV reading come from the house itself."""

    name: str
    caution: str
    stop: str
    causes: tuple[Cause, ...] = ()
    checks: tuple[Check, ...] = ()


@cache
def signs() -> dict[str, Sign]:
    """Return all signs by name."""
    text = (files("scenarios") / "checks" / "signs.toml").read_text(encoding="utf-8")
    return {one["name"]: _sign(one) for one in tomllib.loads(text)["sign"]}


def sign_of(name: str) -> Sign:
    """Return the sign of a name; refused when there is none, the nearest is offered."""
    known = signs()
    plain = " ".join(name.casefold().split())
    if plain not in known:
        raise InputError(f"--sign {name!r} is unknown; {nearest(plain, known)}")
    return known[plain]


def _sign(table: dict[str, Any]) -> Sign:
    causes = tuple(Cause(**one) for one in table.get("cause", []))
    names = [cause.name for cause in causes]
    checks = []
    for one in table.get("check", []):
        chance, other = one["chance"], one["otherwise"]
        unknown = set(chance) - set(names)
        if unknown:
            raise InputError(f"signs.toml: {one['name']}: no cause is called {sorted(unknown)[0]!r}")
        chances = tuple(float(chance.get(name, other)) for name in names)
        checks.append(Check(one["name"], one["minutes"], one["yes"], one["no"], chances))
    return Sign(table["name"], table["caution"], table["stop"], causes, tuple(checks))
