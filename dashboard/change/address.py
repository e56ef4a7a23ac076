"""Changes in an address: small, checked like anything a stranger wrote, refused in one line."""

import base64
import binascii
import json
import zlib
from collections.abc import Collection
from typing import Any

from pydantic import ValidationError

from dashboard.change.changes import Changes
from dashboard.change.fields import LEFT_OUT, Field, Path, Value, field_at, in_si, key_of
from dashboard.change.rule_edits import Table
from sim.errors import InputError
from sim.scenario.care import Policy
from sim.scenario.read.refusal import one_line, refusal, short
from sim.scenario.rule_checks import check_policy
from sim.scenario.scenario import Scenario

LONGEST = 1500  # characters; longer addresses are cut by mail and by some servers
_MOST_BYTES = 64 * 1024  # unpacked
_MOST_ENTRIES = 200
_LONGEST_TEXT = 200
_DEEPEST = 5
_FORM = 1


def encoded(changes: Changes, site_digest: str) -> str:
    """Return changes as a word that can stand in an address.

    Returns
    -------
    str
        Letters, digits, "-" and "_"; may be longer than `LONGEST`.
    """
    content = [
        _FORM,
        site_digest[:8],
        [[list(path), value] for path, value in changes.values.items()],
        dict(changes.policies),
    ]
    said = json.dumps(content, separators=(",", ":"), ensure_ascii=False).encode()
    return base64.urlsafe_b64encode(zlib.compress(said, 9)).decode().rstrip("=")


def decoded(code: str, known: Collection[Path], house: Scenario) -> tuple[Changes, str]:
    """Read changes of a house from an address.

    Raises
    ------
    InputError
        One line, when it is damaged or says what cannot be changed.
    """
    if len(code) > LONGEST:
        raise _refused(f"is {len(code)} characters long; wanted at most {LONGEST}")
    content = _unpacked(code)
    if not (isinstance(content, list) and len(content) == 4 and content[0] == _FORM):
        raise _refused("is of another form; wanted one this version wrote")
    _, made_on, values, policies = content
    if not (isinstance(made_on, str) and isinstance(values, list) and isinstance(policies, dict)):
        raise _refused("is damaged")
    if len(values) + len(policies) > _MOST_ENTRIES or not _plain(content, 0):
        raise _refused("holds more than changes of a house are")
    found = {}
    for item in values:
        path, value = _value(item)
        if path not in known:
            raise _refused("names a value that cannot be changed here")
        if not _fits(field_at(path), value):
            raise _refused(f"{key_of(path)}: read {short(value)}; wanted a value of another kind")
        found[path] = value
    for name, table in policies.items():
        _check_policy(name, table, house)
    return Changes(found, policies), made_on


def _unpacked(code: str) -> Any:
    try:
        packed = base64.b64decode(code + "=" * (-len(code) % 4), altchars=b"-_", validate=True)
        reader = zlib.decompressobj()
        said = reader.decompress(packed, _MOST_BYTES)
        if not reader.eof:  # cut short, or far larger than it looks
            raise _refused("is damaged")
        return json.loads(said.decode())
    except (binascii.Error, zlib.error, ValueError, RecursionError):
        raise _refused("is damaged") from None


def _value(item: Any) -> tuple[Path, Any]:
    if isinstance(item, list) and len(item) == 2 and isinstance(item[0], list):
        path, value = item
        if all(isinstance(step, str) for step in path) and isinstance(value, str | float | int):
            return tuple(path), value
    raise _refused("is damaged")


def _fits(field: Field, value: Value) -> bool:
    if field.choices:
        return value in field.choices
    if field.optional and value == LEFT_OUT:
        return True
    if field.names and isinstance(value, str):
        return in_si(field, value) is not None
    if field.type is bool or isinstance(value, bool):
        return field.type is bool and isinstance(value, bool)
    return isinstance(value, str) == (field.kind is not None or field.type is str)


def _check_policy(name: str, table: Any, house: Scenario) -> None:
    if table is None and name:
        return
    try:
        policy = Policy.model_validate(table)
    except ValidationError as error:
        raise _refused(f"policy[{name}].{refusal(error, table)}") from None
    if policy.name != name or None in _leaves(table):
        raise _refused("holds a policy under another name than its own")
    try:
        check_policy(policy, house.tasks, house.stage_names)
    except ValueError as error:
        raise _refused(str(error)) from None


def _leaves(table: Table) -> list[Any]:
    rules = [rule for rule in table.get("rule", []) if isinstance(rule, dict)]
    return [value for part in (table, *rules) for value in part.values()]


def _plain(value: Any, depth: int) -> bool:
    """Return whether a value is text and numbers of ordinary size, nested no deeper than rules are."""
    if depth > _DEEPEST:
        return False
    if isinstance(value, dict):
        return all(_plain(key, depth) and _plain(item, depth + 1) for key, item in value.items())
    if isinstance(value, list):
        return len(value) <= _MOST_ENTRIES and all(_plain(item, depth + 1) for item in value)
    if isinstance(value, str):
        return len(value) <= _LONGEST_TEXT and not any("\ud800" <= c <= "\udfff" for c in value)
    return value is None or (isinstance(value, bool | int | float) and abs(value) < 1e18)


def _refused(why: str) -> InputError:
    return InputError(one_line(f"address: edits: {why}; the changes in this address cannot be shown"))
