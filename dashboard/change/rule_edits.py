"""Rules of a policy as tables of a file: how one reads, what goes with what, and how two lists differ."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Any

from dashboard.change.fields import field_at, said, unit_for
from sim.scenario.care import Rule
from sim.scenario.effects import any_needs, readings_for

Table = dict[str, Any]
POLICY_KEYS = ("reading_every", "technician_every", "bundle", "heeds_alarm")
# What a reading can show, and what of it people usually go by: common practice, no source.
SIGNALS = {"drop_above": "10 psi", "uv_below": "70 %", "precharge_off": "4 psi"}
NEW_EVERY = "6 month"
NEW_READING_EVERY = "14 d"
WHEN_WORDS = {"calendar": "by the calendar", "reading": "by a reading", "failure": "when it fails"}
_SPELLED = {"yr": "year", "month": "month", "wk": "week", "d": "day", "h": "hour", "min": "minute"}
SIGNAL_WORDS = {
    "drop_above": "drop above",
    "uv_below": "UV reading below",
    "precharge_off": "precharge off by",
}


def signal_of(rule: Mapping[str, Any]) -> str | None:
    """Return which reading a rule goes by, None when it goes by none."""
    return next((name for name in SIGNALS if name in rule), None)


@dataclass(frozen=True)
class Ways:
    """What goes with a task of the house in a rule."""

    readings: tuple[str, ...]  # it can go by, the usual one first
    on_stage: bool
    whens: tuple[str, ...]  # of `WHEN_WORDS`
    technician_only: bool


def ways_of(tasks: Sequence[Table]) -> dict[str, Ways]:
    """Return what goes with each task of a site in a rule, by its name."""
    found = {}
    for task in tasks:
        effects, readings = task["effects"], readings_for(task["effects"])
        noticed = any_needs(effects, "noticed") and bool(task.get("shows"))
        whens = ("calendar", *(("reading",) if readings else ()), *(("failure",) if noticed else ()))
        technician_only = bool(task.get("technician_only"))
        found[task["name"]] = Ways(readings, any_needs(effects, "stage"), whens, technician_only)
    return found


def rule_line(rule: Mapping[str, Any], system: str) -> str:
    """Return a rule as people read it: for instance "wipe sleeve: every 2 months, by owner".

    Parameters
    ----------
    system : str
        "us" or "si".
    """
    of = f" ({rule['stage']})" if "stage" in rule else ""
    when, signal = rule.get("when"), signal_of(rule)
    if signal is not None:
        said_when = f"when read: {SIGNAL_WORDS[signal]} {_words(rule, signal, system)}"
    elif when == "calendar":
        said_when = f"every {_spelled(_words(rule, 'every', system))}"
    else:
        said_when = "when it fails"
    return f"{rule.get('task')}{of}: {said_when}, by {rule.get('by', Rule.model_fields['by'].default)}"


def _words(rule: Mapping[str, Any], key: str, system: str) -> str:
    found = field_at((key,), Rule)
    value = rule.get(key, Rule.model_fields["every_s"].default if key == "every" else None)
    return said(found, value, unit_for(found, value, system))


def _spelled(span: str) -> str:
    """Return a span such as "4 month" or "1 yr" as it follows the word "every"."""
    number, _, unit = span.partition(" ")
    word = _SPELLED.get(unit)
    if word is None:
        return span
    return word if number == "1" else f"{number} {word}s"


def fitted(rule: Mapping[str, Any], stages: Sequence[str], tasks: Mapping[str, Ways]) -> Table:
    """Return a rule whose parts go together, after one of them was changed."""
    task, ways = rule["task"], tasks[rule["task"]]
    when = rule["when"] if rule["when"] in ways.whens else ways.whens[0]
    found: Table = {"task": task}
    if ways.on_stage:
        known = rule.get("stage")
        found["stage"] = known if known is not None else next(iter(stages), "")
    found["when"] = when
    if when == "calendar":
        found["every"] = rule.get("every", NEW_EVERY)
    if when == "reading":
        kept = signal_of(rule)
        signal = kept if kept in ways.readings else ways.readings[0]
        found[signal] = rule.get(signal, SIGNALS[signal])
    if ways.technician_only:
        found["by"] = "technician"
    elif "by" in rule:
        found["by"] = rule["by"]
    return found


def with_rules(policy: Mapping[str, Any], rules: Sequence[Table]) -> Table:
    """Return a policy with other rules; one that reads is given an interval of readings."""
    found: Table = {**policy, "rule": list(rules)}
    if not rules:
        del found["rule"]
    if any(rule.get("when") == "reading" for rule in rules):
        found.setdefault("reading_every", NEW_READING_EVERY)
    return found


def rule_steps(
    was: Sequence[Table], now: Sequence[Table], system: str
) -> Iterator[tuple[int, Table | None, Table | None, list[Table]]]:
    """Walk through what differs between two lists of rules.

    Parameters
    ----------
    system : str
        "us" or "si".
    """
    lines = [[rule_line(rule, system) for rule in rules] for rules in (was, now)]
    for kind, a, a_end, b, b_end in SequenceMatcher(a=lines[0], b=lines[1], autojunk=False).get_opcodes():
        if kind == "equal":
            continue
        for step in range(max(a_end - a, b_end - b)):
            old = was[a + step] if a + step < a_end else None
            new = now[b + step] if b + step < b_end else None
            at = min(b + step, b_end)
            kept = list(now)
            kept[at : at + (new is not None)] = [] if old is None else [old]
            yield (at if new is not None else a + step) + 1, old, new, kept
