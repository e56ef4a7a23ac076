"""A variant says only what differs: how its tables are laid over those of the scenario it extends."""

from typing import Any

from sim.errors import InputError
from sim.scenario.scenario import nearest

Table = dict[str, Any]
# Lists of tables that merge entry by entry, and the key that tells entries apart; other lists replace whole.
ENTRY_KEYS = {
    **dict.fromkeys(("stage", "use", "task", "policy", "fitting", "block", "procedure", "slip"), "name"),
    "spare": "part",
    "step": "id",
    "alternative": "key",
    "equipment": "part",
    "column": "column",
}


def merged(base: Table, over: Table) -> Table:
    """Lay the tables of a variant over those of its base.

    Raises
    ------
    InputError
        When an entry to drop is not there, or an entry stands twice.

    Examples
    --------
    >>> merged({"a": {"x": 1, "y": 2}}, {"a": {"y": 3}})
    {'a': {'x': 1, 'y': 3}}
    >>> merged({"stage": [{"name": "s", "x": 1}, {"name": "t"}]}, {"stage": [{"name": "t", "drop": True}]})
    {'stage': [{'name': 's', 'x': 1}]}
    """
    result = dict(base)
    for key, value in over.items():
        old = result.get(key)
        if isinstance(value, dict):
            result[key] = merged(old if isinstance(old, dict) else {}, value)
        elif key in ENTRY_KEYS and _tables(value):
            result[key] = _entries(key, old if _tables(old) else [], value)
        else:
            result[key] = value
    return result


def _tables(value: object) -> bool:
    return isinstance(value, list) and all(isinstance(item, dict) for item in value)


def _entries(kind: str, base: Any, over: list[Table]) -> list[Table]:
    key = ENTRY_KEYS[kind]
    result: list[Table] = list(base)
    done: set[str] = set()
    for entry in over:
        name = entry.get(key)
        if not isinstance(name, str):
            result.append(merged({}, entry))  # the model says what is missing
            continue
        if name in done:
            raise InputError(f"{kind}[{name}]: stands twice; wanted each {key} once")
        done.add(name)
        at = next((i for i, old in enumerate(result) if old.get(key) == name), None)
        if entry.get("drop") is True:
            if at is None:
                known = [str(old.get(key)) for old in result]
                raise InputError(f"{kind}[{name}].drop: no such entry to drop; {nearest(name, known)}")
            del result[at]
        elif at is None:
            result.append(merged({}, entry))
        else:
            result[at] = merged(result[at], entry)
    return result
