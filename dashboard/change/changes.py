"""What a visitor changed of a site: values by key, and policies; laid over the tables of the site."""

from collections.abc import Mapping
from copy import deepcopy
from dataclasses import dataclass, field
from typing import Any

from pydantic import ValidationError

from dashboard.change.fields import LEFT_OUT, Path, Value, field_at, key_of, read, said, same, unit_for
from dashboard.change.rule_edits import POLICY_KEYS, Table, rule_line, rule_steps, with_rules
from sim.scenario.care import Policy
from sim.scenario.read.merge import ENTRY_KEYS

NOT_THERE = "not there"
NONE = "none"


@dataclass(frozen=True)
class Changes:
    """What differs from the site as chosen."""

    values: Mapping[Path, Value] = field(default_factory=dict)  # values as a file writes them, by path
    # whole tables of policies that differ or are new, by name; None for one that was removed
    policies: Mapping[str, Table | None] = field(default_factory=dict)

    def __bool__(self) -> bool:
        """Whether anything differs."""
        return bool(self.values or self.policies)

    def with_value(self, path: Path, value: Value) -> "Changes":
        """Return the changes with one more value."""
        return Changes({**self.values, path: value}, self.policies)

    def without_value(self, path: Path) -> "Changes":
        """Return the changes with a value put back."""
        return Changes({key: value for key, value in self.values.items() if key != path}, self.policies)

    def with_policy(self, name: str, table: Table | None) -> "Changes":
        """Return the changes with a policy as it is to be, None to remove it."""
        return Changes(self.values, {**self.policies, name: table})

    def without_policy(self, name: str) -> "Changes":
        """Return the changes with a policy put back."""
        return Changes(self.values, {key: item for key, item in self.policies.items() if key != name})


@dataclass(frozen=True)
class Change:
    """One difference, in words."""

    key: str  # what differs, as messages write it
    was: str  # as the site was chosen, and as it is
    now: str
    back: Changes  # all changes but this one


def policies_of(tables: Mapping[str, Any]) -> dict[str, Table]:
    """Return the policies of a site by name, in order."""
    return {item["name"]: item for item in tables["policy"]}


def applied(tables: Mapping[str, Any], changes: Changes) -> dict[str, Any]:
    """Return the tables of a site with what was changed."""
    found: dict[str, Any] = deepcopy(dict(tables))
    for path, value in changes.values.items():
        _write(found, path, value)
    policies: dict[str, Table | None] = {**policies_of(tables), **changes.policies}
    found["policy"] = [deepcopy(item) for item in policies.values() if item is not None]
    return found


def _write(tables: dict[str, Any], path: Path, value: Value) -> None:
    here: Any = tables
    before = ""
    for step in path[:-1]:
        if isinstance(here, list):
            here = next(item for item in here if item.get(ENTRY_KEYS[before]) == step)
        else:
            here = here.setdefault(step, {})
        before = step
    if value == LEFT_OUT and field_at(path).optional:
        here.pop(path[-1], None)
    else:
        here[path[-1]] = value


def settled(tables: Mapping[str, Any], changes: Changes) -> Changes:
    """Return the changes without those that say what the site says anyway."""
    own = policies_of(tables)
    return Changes(
        {
            path: value
            for path, value in changes.values.items()
            if not same(field_at(path), value, _own(tables, path))
        },
        {
            name: table
            for name, table in changes.policies.items()
            if not (table is None and name not in own) and not _alike(own.get(name), table)
        },
    )


def _own(tables: Mapping[str, Any], path: Path) -> Any:
    """Return what a site says of a key, or what goes when it says nothing."""
    found = read(tables, path)
    return field_at(path).default if found is None else found


def _alike(one: Table | None, other: Table | None) -> bool:
    if one is None or other is None:
        return one is other
    try:
        return Policy.model_validate(one) == Policy.model_validate(other)
    except ValidationError:
        return one == other


def listed(tables: Mapping[str, Any], changes: Changes, system: str) -> list[Change]:
    """Return every difference with what it was and what it is.

    Parameters
    ----------
    system : str
        "us" or "si".
    """
    found = []
    for path, value in changes.values.items():
        key, before = field_at(path), _own(tables, path)
        unit = unit_for(key, before, system)
        words = said(key, before, unit) or NONE, said(key, value, unit) or NONE
        found.append(Change(key_of(path), *words, changes.without_value(path)))
    own = policies_of(tables)
    for name, table in changes.policies.items():
        found += _of_policy(name, own.get(name), table, changes, system)
    return found


def _of_policy(
    name: str, was: Table | None, now: Table | None, changes: Changes, system: str
) -> list[Change]:
    key, back = f"policy[{name}]", changes.without_policy(name)
    if was is None or now is None:
        before, after = (
            NOT_THERE if item is None else f"{len(item.get('rule', []))} rules" for item in (was, now)
        )
        return [Change(key, before, after, back)]
    found = []
    for each in POLICY_KEYS:
        declared = field_at((each,), Policy)
        old, new = was.get(each, declared.default), now.get(each, declared.default)
        if same(declared, old, new):
            continue
        unit = unit_for(declared, old or new, system)
        before, after = (said(declared, item, unit) or "left out" for item in (old, new))
        restored = {k: item for k, item in now.items() if k != each}
        if each in was:
            restored[each] = was[each]
        found.append(Change(f"{key}.{each}", before, after, changes.with_policy(name, restored)))
    for number, left, right, rules in rule_steps(was.get("rule", []), now.get("rule", []), system):
        before, after = (NOT_THERE if rule is None else rule_line(rule, system) for rule in (left, right))
        back = changes.with_policy(name, with_rules(now, rules))
        found.append(Change(f"{key}.rule[{number}]", before, after, back))
    return found
