"""Rules that several policies share, said once in a file: `[[rules]]` and `include`."""

import copy
from typing import Any

from sim.errors import InputError
from sim.scenario.nearest import nearest

Table = dict[str, Any]


def with_included(data: Table) -> Table:
    """Return tables in which every policy holds the rules it includes, after its own.

    Refused when a policy includes what is not there.

    Examples
    --------
    >>> shared = {"name": "mend", "rule": [{"task": "replace lamp", "when": "failure"}]}
    >>> with_included({"rules": [shared], "policy": [{"name": "p", "include": ["mend"]}]})
    {'policy': [{'name': 'p', 'rule': [{'task': 'replace lamp', 'when': 'failure'}]}]}
    """
    blocks = data.get("rules", [])
    if not _tables(blocks) or not _tables(data.get("policy", [])):
        return data  # the model says what is wrong
    rules = {one.get("name"): one.get("rule", []) for one in blocks}
    found = {key: value for key, value in data.items() if key != "rules"}
    if "policy" in data:
        found["policy"] = [_whole(policy, rules) for policy in data["policy"]]
    return found


def _tables(value: object) -> bool:
    return isinstance(value, list) and all(isinstance(item, dict) for item in value)


def _whole(policy: Table, rules: dict[Any, Any]) -> Table:
    names = policy.get("include")
    if names is None:
        return policy
    where = f"policy[{policy.get('name', '')}].include"
    if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
        raise InputError(f"{where}: read {names!r}; wanted a list of names of [[rules]]")
    own = {key: value for key, value in policy.items() if key != "include"}
    found = list(own.get("rule", []))
    for name in names:
        if name not in rules:
            raise InputError(f"{where}: no [[rules]] {name!r}; {nearest(name, rules)}")
        found += copy.deepcopy(rules[name])
    return {**own, "rule": found}
