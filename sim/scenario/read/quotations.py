"""A table of quotations, CSV or TOML: one row a real item; what is not known is left blank."""

import tomllib
from collections.abc import Iterator, Mapping
from datetime import date
from pathlib import Path

from sim.errors import InputError
from sim.scenario.nearest import nearest
from sim.scenario.quotation import Item
from sim.scenario.quotation_keys import KEYS
from sim.scenario.read.content import content_of, text_of
from sim.scenario.read.sheet import Cell, number, read_sheet

HEAD = ("item", "part", "stage", "price", "currency", "date", "life")
_PRICES = frozenset({"housing_price", "lamp_price"})
UNKNOWN = frozenset({"", "unknown", "not known"})


def read_quotations(path: Path, currency: str, stages: tuple[str, ...]) -> tuple[Item, ...]:
    """Read a table of quotations; refused in one line when a row cannot be used.

    Parameters
    ----------
    currency : str
        Name of the site's money; a quotation in another is refused, as no rate of exchange is known.
    """
    found = [_item(row, place, currency, stages) for place, row in _rows(path)]
    if not found:
        raise InputError(f"{path.name}: no quotation stands in it; wanted one row an item")
    names = [one.name for one in found]
    for at, one in enumerate(found):
        if one.name in names[:at]:
            raise InputError(f"{one.place}: item: two items are called {one.name!r}; wanted each name once")
    return tuple(found)


def _rows(path: Path) -> Iterator[tuple[str, dict[str, str]]]:
    if path.suffix.lower() == ".toml":
        try:
            read = tomllib.loads(text_of(content_of(path, str(path), "a TOML file"), path.name))
        except (RecursionError, ValueError) as error:  # what is no TOML, or an integer too long to read
            raise InputError(f"{path.name}: cannot be read as TOML: {error}") from None
        entries = read.get("item", [])
        if (
            set(read) - {"item"}
            or not isinstance(entries, list)
            or not all(isinstance(e, dict) for e in entries)
        ):
            raise InputError(f"{path.name}: wanted [[item]] tables and nothing else")
        for at, entry in enumerate(entries, 1):
            named = {"item" if key == "name" else key: _text(value) for key, value in entry.items()}
            yield f"{path.name}: item {at}", named
        return
    sheet = read_sheet(path)
    for line, cells in sheet.rows:
        row = dict(zip(sheet.columns, (cell.strip() for cell in cells), strict=False))
        yield f"{path.name}: line {line}", row


def _text(value: object) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)


def _item(row: Mapping[str, str], place: str, currency: str, stages: tuple[str, ...]) -> Item:
    said = {key: value for key, value in row.items() if value.lower() not in UNKNOWN}
    for key in ("item", "part", "price", "currency", "date"):
        if key not in said:
            raise InputError(f"{place}: {key} is missing; wanted it for every item")
    part, stage = said["part"], said.get("stage", "")
    if part not in KEYS:
        raise InputError(f"{place}: part: read {part!r}; {nearest(part, KEYS)}")
    if (part == "cartridge") != bool(stage) or (stage and stage not in stages):
        wanted = (
            f"the stage it is for; {nearest(stage, stages)}"
            if part == "cartridge"
            else "none, but for cartridges"
        )
        raise InputError(f"{place}: stage: read {stage!r}; wanted {wanted}")
    if said["currency"] != currency:
        raise InputError(
            f"{place}: currency: read {said['currency']!r}; wanted {currency!r}, that of the site"
        )
    own = {key: value for key, value in said.items() if key not in HEAD}
    for key in own:
        if key not in KEYS[part]:
            raise InputError(f"{place}: {key}: is not said of a {part}; {nearest(key, KEYS[part])}")
    price = _price(said["price"], f"{place}: price")
    for key in [key for key in own if key in _PRICES]:
        _price(own[key], f"{place}: {key}")
    return Item(
        said["item"], part, stage, price, currency,
        _date(said["date"], place), said.get("life", ""), own, place,
    )  # fmt: skip


def _price(text: str, place: str) -> float:
    wanted = "a number of 0 or more, without a currency"
    found = number(Cell(text, place), wanted)
    if found >= 1e9:
        raise InputError(f"{place}: read {text!r}; wanted {wanted}, below 1e9")
    return found


def _date(text: str, place: str) -> str:
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        raise InputError(f"{place}: date: read {text!r}; wanted year-month-day, such as 2026-11-20") from None
