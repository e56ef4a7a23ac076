"""The table of sizes: what goes with a size, what equipment costs, how long it lasts; prices are invented."""

import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from sim.constants import YEAR_S
from sim.errors import InputError
from sim.scenario.nearest import nearest
from sim.scenario.scenario import Scenario
from sim.scenario.sizing import HOUSING_OF
from sim.study.check.pump_use import mean_life_s
from sim.study.search.places import put, steps_of, value_at
from sim.study.wording import listed
from sim.units import kind_of_unit, parse

# Where the size of a piece of equipment stands: part of the scenario and field.
_SIZED = {
    "cistern": ("cistern", "capacity_m3"), "pump": ("pump", "best_flow_m3_s"),
    "pressure tank": ("tank", "volume_m3"), "uv": ("uv", "rated_flow_m3_s"),
    "restrictor": ("uv", "restrictor_m3_s"), "drive": ("pump", "best_flow_m3_s"),
    "standby pump": ("pump", "best_flow_m3_s"),
    "mains air gap": ("cistern", "mains_m3_s"),
}  # fmt: skip


@dataclass(frozen=True)
class Piece:
    """A piece of equipment of a design."""

    part: str
    price: float  # when bought [money]
    years: float  # how long it lasts [year]
    stated: bool  # whether the site or a quotation states its price, else it is invented

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


def yearly(scenario: Scenario, own: Scenario) -> float:
    """Return the cost of the equipment of a design, spread over its life [money/year]."""
    return sum(piece.cost for piece in equipment(scenario, own))


def equipment(scenario: Scenario, own: Scenario) -> list[Piece]:
    """Return the equipment of a design with prices and lives; a quoted piece costs what was quoted."""
    stated, theirs = ({one.part: one for one in house.equipment} for house in (own, scenario))
    found = []
    for part, entry in table()["equipment"].items():
        size, count = _size(scenario, part), scenario.uv.units if part == "uv" else 1
        if size is None:
            continue
        given = theirs.get(part)
        years = mean_life_s(scenario) / YEAR_S if part == "pump" else parse(entry["life"], "time") / YEAR_S
        if given is None:
            price = float(entry["price"]) * (size / _si(entry["size"])) ** entry["exponent"]
            found.append(Piece(part, count * price, years, stated=False))
            continue
        if given.life_s is not None:
            # a pump's is stated for the use this site makes of it; a design may start it oftener
            worn = mean_life_s(scenario) / mean_life_s(own) if part == "pump" else 1.0
            years = given.life_s / YEAR_S * worn
        at_home = given == stated.get(
            part
        )  # the site's own; other sizes of it are scaled, a quotation is not
        base = (_size(own, part) if at_home else None) or size
        found.append(
            Piece(part, count * given.price * (size / base) ** entry["exponent"], years, stated=True)
        )
    return [*found, *_housings(scenario, own)]


def _size(scenario: Scenario, part: str) -> float | None:
    """Return the size a price goes by; None for what the house has not, and for housings."""
    fitted = {"drive": scenario.pump.holds, "standby pump": scenario.pump.standby}
    if not fitted.get(part, True):
        return None
    place, field = _SIZED.get(part, ("", ""))
    found = getattr(getattr(scenario, place), field) if place else None
    return None if found is None else float(found)


def invented(pieces: Iterable[Piece]) -> str:
    """Return which prices are invented; empty when none is."""
    names = ["UV unit" if piece.part == "uv" else piece.part for piece in pieces if not piece.stated]
    if not names:
        return ""
    return (
        f"Prices and lives are invented for {listed(names)}; put yours in [[equipment]] of the "
        "site's file or in a table of quotations."
    )


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


def _housings(scenario: Scenario, own: Scenario) -> Iterator[Piece]:
    """Yield the housings of each stage; one price for all is of the sizes the site has, and of no other."""
    prices = {one.part: one for one in scenario.equipment}
    sizes = {stage.name: stage.size for stage in own.stages}
    middle = table()["cartridge"]["4.5x10"]
    for stage in scenario.stages:
        name = f"{HOUSING_OF}{stage.name}"
        given = prices.get(name) or (prices.get("housing") if sizes.get(stage.name) == stage.size else None)
        known = table()["cartridge"].get(stage.size, middle)
        price = given.price if given else float(known["housing"])
        life_s = given.life_s if given else None
        years = (life_s or parse(table()["equipment"]["housing"]["life"], "time")) / YEAR_S
        yield Piece(name, price * stage.housings, years, stated=given is not None)


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
