"""Rules of a policy as tables of a file: how one reads, what goes with what, and how two lists differ."""

from collections.abc import Iterator, Mapping, Sequence
from difflib import SequenceMatcher
from typing import Any

from dashboard.change.fields import field_at, said, unit_for
from sim.scenario.care import Rule

Table = dict[str, Any]
POLICY_KEYS = ("reading_every", "technician_every", "bundle", "heeds_alarm")
# What a reading can show, and what of it people usually go by: common practice, no source.
SIGNALS = {"drop_above": "10 psi", "uv_below": "70 %", "precharge_off": "4 psi"}
_USUAL = {"change cartridge": "drop_above", "restore precharge": "precharge_off"}
NEW_EVERY = "6 month"
NEW_READING_EVERY = "14 d"
STAGE_TASK = "change cartridge"
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


def signals_for(task: str) -> tuple[str, ...]:
    """Return the readings a task can go by, the usual one first."""
    usual = _USUAL.get(task, "uv_below")
    others = [name for name in SIGNALS if name != usual and (name != "drop_above" or task == STAGE_TASK)]
    return (usual, *others)


def rule_line(rule: Mapping[str, Any], system: str) -> str:
    """Return a rule as people read it.

    Parameters
    ----------
    system : str
        "us" or "si".

    Returns
    -------
    str
        For instance "wipe sleeve: every 2 months, by owner".
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


def fitted(rule: Mapping[str, Any], stages: Sequence[str], technician_only: Sequence[str]) -> Table:
    """Return a rule whose parts go together, after one of them was changed."""
    task, when = rule["task"], rule["when"]
    found: Table = {"task": task}
    if task == STAGE_TASK:
        known = rule.get("stage")
        found["stage"] = known if known is not None else next(iter(stages), "")
    found["when"] = when
    if when == "calendar":
        found["every"] = rule.get("every", NEW_EVERY)
    if when == "reading":
        kept = signal_of(rule)
        signal = kept if kept in signals_for(task) else signals_for(task)[0]
        found[signal] = rule.get(signal, SIGNALS[signal])
    if task in technician_only:
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
