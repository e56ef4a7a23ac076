"""A quoted item put into a house: its own numbers, none of them scaled."""

import copy
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from sim.errors import InputError
from sim.scenario.quotation import Item
from sim.scenario.read.scenario_tables import scenario_of
from sim.scenario.sizing import HOUSING_OF, Alternative
from sim.scenario.train import OWN_SIZE
from sim.study.search.places import put
from sim.units import parse

_PLACES = {"pump": "pump", "pressure tank": "pressure_tank", "uv": "uv"}
_POINTS = frozenset({"curve", "drops", "housing_price", "lamp_price"})
_EXAMPLES = {"drops": "5 gpm at 0.4 psi", "curve": "5 gpm at 170 ft"}
_RENEWED = {"pump": "new pump", "pressure tank": "new pressure tank"}


def alternatives(items: Sequence[Item]) -> list[Alternative]:
    """Return what there is to choose between: for each part its items."""
    keys = dict.fromkeys(item.key for item in items)
    return [Alternative(key=key, values=tuple(i.name for i in items if i.key == key)) for key in keys]


def placed(error: InputError, tables: dict[str, Any], items: Sequence[Item]) -> InputError:
    """Return what was refused with the file and line of the item it is about, if it is about one alone."""
    for item in items:
        made = copy.deepcopy(tables)
        try:
            put_item(made, item)
            scenario_of(made, item.place)
        except InputError as alone:
            return alone
    return error


def put_item(tables: dict[str, Any], item: Item) -> None:
    """Put an item into the tables of a scenario."""
    place = f"stage.{item.stage}" if item.stage else _PLACES[item.part]
    if item.part == "cartridge" and "size" not in item.values:
        put(tables, f"{place}.size", OWN_SIZE)
    for key, value in item.values.items():
        if key not in _POINTS:
            put(tables, f"{place}.{key}", {"true": True, "false": False}.get(value, _number(value)))
    if "curve" in item.values:
        _curve(tables, item)
    if "drops" in item.values:
        _drops(tables, place, item)
    _prices(tables, place, item)


def _prices(tables: dict[str, Any], place: str, item: Item) -> None:
    if item.part == "cartridge":
        put(tables, f"{place}.price", item.price)
        if "housing_price" in item.values:
            price = float(item.values["housing_price"])
            _equipment(tables, {"part": f"{HOUSING_OF}{item.stage}", "price": price})
        return
    life = {"life": item.life} if item.life else {}
    _equipment(tables, {"part": item.part, "price": item.price, **life})
    for task in tables["task"]:
        if _RENEWED.get(item.part) in task["effects"]:
            task["part_price"] = item.price
        if "lamp_price" in item.values and "new lamp" in task["effects"]:
            task["part_price"] = float(item.values["lamp_price"])


def _equipment(tables: dict[str, Any], entry: dict[str, Any]) -> None:
    others = [one for one in tables.get("equipment", []) if one["part"] != entry["part"]]
    tables["equipment"] = [*others, entry]


def _curve(tables: dict[str, Any], item: Item) -> None:
    """Fit H = H0 - k Q2 to the points of the sheet, by least squares."""
    flow_m3_s, head_m = zip(*_points(item, "curve", "length"), strict=True)
    if len(flow_m3_s) < 2 or any(np.diff(np.asarray(head_m)[np.argsort(flow_m3_s)]) >= 0):
        raise InputError(
            f"{item.place}: curve: read {item.values['curve']!r}; wanted two or more points whose head falls "
            "with flow"
        )
    slope, shutoff_m = np.polyfit(np.square(flow_m3_s), head_m, 1)
    put(tables, "pump.shutoff_head", f"{float(shutoff_m)!r} m")
    put(tables, "pump.curve", f"{float(-slope)!r} s2/m5")


def _drops(tables: dict[str, Any], place: str, item: Item) -> None:
    """Lay dp = a Q + b Q2 through two clean drops, or a Q through one."""
    points = _points(item, "drops", "pressure")
    flow, drop = (np.array(found) for found in zip(*points, strict=True))
    if flow.min() <= 0.0 or drop.min() <= 0.0:
        raise InputError(
            f"{item.place}: drops: read {item.values['drops']!r}; wanted flows and drops above 0"
        )
    powers = (1, 2) if len(points) > 1 else (1,)
    found = np.linalg.lstsq(np.stack([flow**power for power in powers], axis=1) / drop[:, None],
                            np.ones(len(points)), rcond=None)[0]  # fmt: skip
    if found[0] <= 0 or found[-1] < 0:
        raise InputError(
            f"{item.place}: drops: read {item.values['drops']!r}; wanted drops that grow no slower than the "
            "flow, at most as its square"
        )
    put(tables, f"{place}.clean_linear", f"{float(found[0])!r} Pa s/m3")
    put(tables, f"{place}.housing_quadratic", f"{float(found[1]) if len(powers) > 1 else 0.0!r} Pa s2/m6")


def _points(item: Item, key: str, kind: str) -> list[tuple[float, float]]:
    return list(_read_points(item, key, kind))


def _read_points(item: Item, key: str, kind: str) -> Iterator[tuple[float, float]]:
    """Read points such as "5 gpm at 0.4 psi; 10 gpm at 1.4 psi"."""
    for point in item.values[key].split(";"):
        flow, found, value = point.partition(" at ")
        try:
            if not found:
                raise InputError("")
            yield parse(flow.strip(), "flow"), parse(value.strip(), kind)
        except InputError:
            raise InputError(
                f"{item.place}: {key}: read {point.strip()!r}; "
                f"wanted points such as '{_EXAMPLES[key]}', apart by ;"
            ) from None


def _number(text: str) -> Any:
    """Return a plain number as one; a quantity stays as written."""
    try:
        return float(text)
    except ValueError:
        return text
