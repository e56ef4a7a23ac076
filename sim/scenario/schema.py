"""JSON Schema of site files: what an editor completes, explains and underlines while one types.

Every key may be left out, as a file says only what differs from what it extends; the program says what is
missing in the end. It also says what hangs together across keys, which no schema does.
"""

import re
from collections.abc import Iterator
from typing import Any

from sim.scenario.read.merge import ENTRY_KEYS, PLACED
from sim.scenario.scenario import Scenario
from sim.scenario.values.grades import base_grades
from sim.scenario.values.ranges import ranges

FILE = "cisterntwin.schema.json"
_DIALECT = "https://json-schema.org/draft/2020-12/schema"
_TEXT = {"type": "string"}
# What a file may say beside the values themselves: how its entries are laid over those of another.
_FOR_ENTRIES: dict[str, Any] = {
    "like": {**_TEXT, "description": "Begin with the values of the entry of this name."},
    "before": {**_TEXT, "description": "Stand before the entry of this name."},
    "drop": {"type": "boolean", "description": "Leave out what the extended file has."},
}


def site_schema() -> dict[str, Any]:
    """Return the schema of a site file, draft 2020-12."""
    found = Scenario.model_json_schema(by_alias=True)
    for table in (found, *found["$defs"].values()):
        table.pop("required", None)
        for field in table.get("properties", {}).values():
            field.pop("default", None)  # in SI, not as a file writes it
    for key, table in list(_lists(found)):
        placed = key in PLACED
        more = {name: field for name, field in _FOR_ENTRIES.items() if placed or name != "before"}
        table["properties"] = more | table["properties"]
    rule = {"type": "array", "items": {"$ref": "#/$defs/Rule"}}
    found["$defs"]["Policy"]["properties"] |= {
        "also": {**rule, "description": "Rules beside those of the policy it extends."},
        "include": {"type": "array", "items": _TEXT, "description": "Names of shared rules."},
    }
    shared = {"type": "object", "properties": {"name": _TEXT, "rule": rule, **_FOR_ENTRIES}}
    found["properties"] |= {
        "extends": {**_TEXT, "description": "A built-in site, or a file beside this one, to begin with."},
        "rules": {"type": "array", "items": shared, "description": "Rules that policies include."},
    }
    _explain(found)
    return {"$schema": _DIALECT, "title": "A site", **found}


def _lists(schema: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Walk through the tables whose entries are laid over each other by name."""
    for table in (schema, *schema["$defs"].values()):
        for key, field in table.get("properties", {}).items():
            name = field.get("items", {}).get("$ref", "").rpartition("/")[2]
            if key in ENTRY_KEYS and name:
                yield key, schema["$defs"][name]


def _explain(schema: dict[str, Any]) -> None:
    """Say beside each key what the base file says of it, and where it is believed."""
    said = {_plain(key): one for key, one in base_grades().items()}
    for key, field in schema["properties"].items():
        ref = field.get("$ref") or field.get("items", {}).get("$ref", "")
        table = schema["$defs"].get(ref.rpartition("/")[2], {})
        for name, inner in table.get("properties", {}).items():
            words = _words(f"{key}.{name}", said)
            if words:
                inner.setdefault("description", words)


def _words(key: str, said: dict[str, Any]) -> str:
    one, believed = said.get(key), ranges().get(key)
    words = []
    if one is not None:
        words.append(f"{one.value} in the base file" + (f": {one.comment}" if one.comment else ""))
    if believed is not None and believed.low_text:
        words.append(f"believed from {believed.low_text} to {believed.high_text}")
    return "; ".join(words)


def _plain(key: str) -> str:
    """Return a key without the names of entries.

    Examples
    --------
    >>> _plain("stage[carbon].dirt_capacity")
    'stage.dirt_capacity'
    """
    return re.sub(r"\[[^\]]*\]", "", key)
