"""The table of sizes: what goes with a size, what equipment costs, how long it lasts; prices are invented."""

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from sim.constants import YEAR_S
from sim.errors import InputError
from sim.scenario.nearest import nearest
from sim.scenario.scenario import Scenario
from sim.scenario.train import Stage
from sim.study.check.pump_use import mean_life_s
from sim.study.search.places import put, steps_of, value_at
from sim.units import kind_of_unit, parse

SAID = "Prices and lives of equipment are invented; put quotations in [[equipment]] of the site's file."
_OF_SIZE = {"cistern": "capacity_m3", "pump": "best_flow_m3_s", "tank": "volume_m3", "uv": "rated_flow_m3_s"}


@dataclass(frozen=True)
class Piece:
    """A piece of equipment of a design."""

    part: str
    price: float  # when bought [money]
    years: float  # how long it lasts [year]

    @property
    def cost(self) -> float:
        """Its price spread evenly over its life, without interest [money/year]."""
        return self.price / self.years


@cache
def table() -> dict[str, Any]:
    """Return the table of sizes as written.

    Returns
    -------
    dict
        "cartridge", "follows" and "equipment".
    """
    return tomllib.loads(files("scenarios").joinpath("sizes", "table.toml").read_text(encoding="utf-8"))


def bring(tables: dict[str, Any], key: str, old: Any, new: Any) -> list[str]:
    """Bring what goes with a size after it was changed; refused when a cartridge size is not in the table."""
    if old == new:
        return []
    steps = steps_of(key)
    pattern = ".".join((steps[0], "*", steps[-1]) if steps[0] == "stage" and len(steps) == 3 else steps)
    followed = []
    for basis, rules in table()["follows"].get(pattern, {}).items():
        ratio = _number(new, basis, key) / _number(old, basis, key)
        for name, exponent in rules.items():
            at = ".".join((*steps[:-1], name)) if "*" in pattern else name
            put(tables, at, scaled(value_at(tables, at), ratio**exponent))
            followed.append(at)
    return followed


def equipment(scenario: Scenario, own: Scenario) -> list[Piece]:
    """Return the equipment of a design with prices and lives."""
    stated = {one.part: one for one in own.equipment}
    found = []
    for part, entry in table()["equipment"].items():
        if part == "housing":
            continue
        place = {"pressure tank": "tank"}.get(part, part)
        size = float(getattr(getattr(scenario, place), _OF_SIZE[place]))
        if part in stated:
            price, years = stated[part].price, stated[part].life_s / YEAR_S
            base = float(getattr(getattr(own, place), _OF_SIZE[place]))
            if part == "pump":  # stated for the use this site makes of it; a design may start it oftener
                years *= mean_life_s(scenario) / mean_life_s(own)
        elif part == "pump":
            price, years = float(entry["price"]), mean_life_s(scenario) / YEAR_S
            base = _si(entry["size"])
        else:
            price, years = float(entry["price"]), parse(entry["life"], "time") / YEAR_S
            base = _si(entry["size"])
        found.append(Piece(part, price * (size / base) ** entry["exponent"], years))
    return [*found, *_housings(scenario.stages, own)]


def scaled(value: Any, factor: float) -> Any:
    """Return a value as written, times a factor.

    Examples
    --------
    >>> scaled("40.0 psi", 0.5)
    '20.0 psi'
    """
    if not isinstance(value, str):
        return float(value) * factor
    number, _, unit = value.strip().partition(" ")
    return f"{float(number) * factor!r} {unit}".strip()


def _housings(stages: tuple[Stage, ...], own: Scenario) -> Iterator[Piece]:
    stated = next((one for one in own.equipment if one.part == "housing"), None)
    years = (stated.life_s if stated else parse(table()["equipment"]["housing"]["life"], "time")) / YEAR_S
    for stage in stages:
        known = table()["cartridge"].get(stage.size)
        middle = float(table()["cartridge"]["4.5x10"]["housing"])
        price = stated.price if stated else float(known["housing"]) if known else middle
        yield Piece(f"housing of {stage.name}", price * stage.housings, years)


def _number(size: Any, basis: str, key: str) -> float:
    if basis == "itself":
        try:
            return _si(size)
        except InputError as error:
            raise InputError(f"{key}: read {size!r}; {error}") from None
    sizes = table()["cartridge"]
    if size not in sizes:
        raise InputError(
            f"{key}: size {size!r} is not in the table of cartridges; {nearest(str(size), sizes)}"
        )
    value = sizes[size][basis]
    return _si(value)


def _si(value: Any) -> float:
    """Return a plain number, or a quantity in SI whatever its kind."""
    if not isinstance(value, str):
        return float(value)
    unit = value.strip().partition(" ")[2].strip()
    kind = kind_of_unit(unit) if unit else None
    return parse(value, kind or "fraction")
