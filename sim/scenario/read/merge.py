"""A variant says only what differs: how its tables are laid over those of the scenario it extends."""

from typing import Any

from sim.errors import InputError
from sim.scenario.nearest import nearest

Table = dict[str, Any]
# Lists of tables that merge entry by entry, and the key that tells entries apart; other lists replace whole.
ENTRY_KEYS = {
    **dict.fromkeys(("stage", "use", "task", "policy", "rules", "fitting", "block", "guide", "slip"), "name"),
    "spare": "part",
    "step": "id",
    "alternative": "key",
    "equipment": "part",
    "column": "column",
}
PLACED = ("stage", "step")  # entries that can say before which other they come


def merged(base: Table, over: Table) -> Table:
    """Lay the tables of a variant over those of its base.

    Refused when an entry to drop, to start from or to come before is not there, or an entry stands twice.

    Examples
    --------
    >>> merged({"a": {"x": 1, "y": 2}}, {"a": {"y": 3}})
    {'a': {'x': 1, 'y': 3}}
    >>> merged({"stage": [{"name": "s", "x": 1}, {"name": "t"}]}, {"stage": [{"name": "t", "drop": True}]})
    {'stage': [{'name': 's', 'x': 1}]}
    >>> merged({"stage": [{"name": "s", "x": 1}]}, {"stage": [{"name": "t", "like": "s", "before": "s"}]})
    {'stage': [{'name': 't', 'x': 1}, {'name': 's', 'x': 1}]}
    """
    result = dict(base)
    for key, value in over.items():
        old = result.get(key)
        if isinstance(value, dict):
            result[key] = merged(old if isinstance(old, dict) else {}, value)
        elif key in ENTRY_KEYS and _tables(value):
            if not value and old:
                raise InputError(
                    f"{key}: read an empty list, which takes none of the {len(old)} away that are there; "
                    f"wanted drop = true in each that goes, or no such line"
                )
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
        if entry.get("drop") is True:
            del result[_at(kind, name, "drop", name, result)]
            continue
        at = next((i for i, old in enumerate(result) if old.get(key) == name), None)
        old = _like(kind, name, entry, result) if at is None else result.pop(at)
        new = _with_more_rules(merged(old, _own(kind, entry, at is None)))
        if kind in PLACED and "before" in entry:
            result.insert(_at(kind, name, "before", entry["before"], result), new)
        else:
            result.insert(len(result) if at is None else at, new)
    return result


def _at(kind: str, name: str, key: str, other: object, entries: list[Table]) -> int:
    """Return where an entry stands that another one speaks of."""
    known = [entry.get(ENTRY_KEYS[kind]) for entry in entries]
    if other not in known:
        said = "no such entry to drop" if key == "drop" else f"no {kind} {other!r}"
        raise InputError(f"{kind}[{name}].{key}: {said}; {nearest(str(other), map(str, known))}")
    return known.index(other)


def _like(kind: str, name: str, entry: Table, entries: list[Table]) -> Table:
    """Return what a new entry starts from: nothing, or another that it names."""
    return entries[_at(kind, name, "like", entry["like"], entries)] if "like" in entry else {}


def _own(kind: str, entry: Table, new: bool) -> Table:
    """Return what an entry says of itself: not where it comes and what it starts from."""
    said = {"like"} if new else set()  # one that is there cannot start from another: the model says so
    said |= {"before"} if kind in PLACED else set()
    return {key: value for key, value in entry.items() if key not in said}


def _with_more_rules(entry: Table) -> Table:
    """Return a policy with the rules under `also` after those it has."""
    rules, more = entry.get("rule", []), entry.get("also")
    if not (isinstance(more, list) and isinstance(rules, list)):
        return entry  # the model says what is wrong
    rest = {key: value for key, value in entry.items() if key != "also"}
    return rest | {"rule": [*rules, *more]}
