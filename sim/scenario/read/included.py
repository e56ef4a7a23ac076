"""Rules that several policies share, said once in a file: `[[rules]]` and `include`."""

import copy
from typing import Any

from sim.errors import InputError
from sim.scenario.nearest import nearest
from sim.scenario.read.refusal import short

Table = dict[str, Any]
_KEYS = ("name", "rule")  # of shared rules


def with_included(data: Table) -> Table:
    """Return tables in which every policy holds the rules it includes, after its own.

    Refused when a policy includes what is not there, or shared rules are not a list under a name.

    Examples
    --------
    >>> shared = {"name": "mend", "rule": [{"task": "replace lamp", "when": "failure"}]}
    >>> with_included({"rules": [shared], "policy": [{"name": "p", "include": ["mend"]}]})
    {'policy': [{'name': 'p', 'rule': [{'task': 'replace lamp', 'when': 'failure'}]}]}
    """
    blocks = data.get("rules", [])
    if not _tables(blocks) or not _tables(data.get("policy", [])):
        return data  # the model says what is wrong
    rules = dict(_shared(number, block) for number, block in enumerate(blocks, 1))
    found = {key: value for key, value in data.items() if key != "rules"}
    if "policy" in data:
        found["policy"] = [_whole(policy, rules) for policy in data["policy"]]
    return found


def _tables(value: object) -> bool:
    return isinstance(value, list) and all(isinstance(item, dict) for item in value)


def _shared(number: int, block: Table) -> tuple[str, list[Any]]:
    name = block.get("name")
    if not isinstance(name, str):
        read = f"read {short(name)}" if "name" in block else "is missing"
        raise InputError(f"rules[{number}].name: {read}; wanted what policies include them by")
    unknown = next((key for key in block if key not in _KEYS), None)
    if unknown is not None:
        raise InputError(f"rules[{name}].{unknown}: is not a known key; {nearest(unknown, _KEYS)}")
    found = block.get("rule", [])
    if not isinstance(found, list):
        raise InputError(f"rules[{name}].rule: read {short(found)}; wanted a list of tables")
    return name, found


def _whole(policy: Table, rules: dict[str, list[Any]]) -> Table:
    names = policy.get("include")
    if names is None:
        return policy
    where = f"policy[{policy.get('name', '')}].include"
    if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
        raise InputError(f"{where}: read {short(names)}; wanted a list of names of [[rules]]")
    own = {key: value for key, value in policy.items() if key != "include"}
    found = own.get("rule", [])
    if not isinstance(found, list):
        return own  # the model says what is wrong
    for name in names:
        if name not in rules:
            raise InputError(f"{where}: no [[rules]] {name!r}; {nearest(name, rules)}")
        found = [*found, *copy.deepcopy(rules[name])]
    return {**own, "rule": found}
