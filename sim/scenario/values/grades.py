"""The grade beside each number of a scenario file, read from its comments: stated there and nowhere else."""

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Any

from sim.scenario.read.merge import ENTRY_KEYS

# Letters as the head of base.toml explains them; two kinds have no letter.
PRACTICE, INVENTED = "common practice, no source", "invented"
SAMPLED = ("A", "M", "2", "C", "R")  # not seen in a source, or in other houses than this, so worth varying
_GRADE = re.compile(r"\[([S2MCAR])(?:, [a-z]+)?\]")
_TABLE = re.compile(r"\s*(\[\[?)([\w.]+)\]\]?\s*(?:#(.*))?$")
_VALUE = re.compile(r"""\s*(\w+)\s*=\s*((?:"[^"]*"|'[^']*'|[^#"'])*?)\s*(?:#(.*))?$""")


@dataclass(frozen=True)
class Graded:
    """One value of a file."""

    key: str  # key, entries of lists by name: "stage[carbon].dirt_capacity"
    value: str  # as written
    grade: str  # a letter, "common practice, no source", "invented", or empty when nothing says it
    comment: str  # what stands beside it, or over its table when nothing does


def graded(text: str) -> tuple[Graded, ...]:
    """Read the values of a scenario file with their grades.

    Notes
    -----
    A grade stands beside its value; else that beside the head of the table counts; else that in the comment
    that last stood directly over a table of this name or of one it belongs to. Where a comment holds several
    grades the first is that of the value.

    Examples
    --------
    >>> [(one.key, one.grade) for one in graded('[roof]\\narea = "230 m2"  # [A] measured [S]')]
    [('roof.area', 'A')]
    """
    return tuple(_read(text))


@cache
def base_grades() -> dict[str, Graded]:
    """Return the values of base.toml, and of what it extends, with their grades, by key."""
    found = _with_extended("base")
    return found | _of_included(found, tomllib.loads(_text("base")))


def _with_extended(name: str) -> dict[str, Graded]:
    text = _text(name)
    extended = tomllib.loads(text).get("extends")
    below = _with_extended(extended) if extended else {}
    return below | {one.key: one for one in graded(text)}


def _text(name: str) -> str:
    return (files("scenarios") / f"{name}.toml").read_text(encoding="utf-8")


def _of_included(found: dict[str, Graded], data: dict[str, Any]) -> dict[str, Graded]:
    """Return grades of rules that policies include, under the keys they have as part of a policy."""
    counts = {one["name"]: len(one["rule"]) for one in data["rules"]}
    more: dict[str, Graded] = {}
    for policy in data["policy"]:
        number = len(policy.get("rule", []))
        for name in policy.get("include", []):
            for rule in range(1, counts[name] + 1):
                number += 1
                old, new = f"rules[{name}].rule[{rule}].", f"policy[{policy['name']}].rule[{number}]."
                more |= {
                    new + key.removeprefix(old): replace(one, key=new + key.removeprefix(old))
                    for key, one in found.items()
                    if key.startswith(old)
                }
    return more


def grade_in(comment: str) -> str:
    """Return the grade a comment states.

    Returns
    -------
    str
        The first grade, or empty.

    Examples
    --------
    >>> grade_in(" thrifty [A]; REU 7.8 min [2]"), grade_in(" [S, abstract]"), grade_in(" invented")
    ('A', 'S', 'invented')
    """
    marks = [(m.start(), m[1]) for m in _GRADE.finditer(comment)]
    marks += [(comment.find(word), word) for word in (PRACTICE, INVENTED) if word in comment]
    return min(marks)[1] if marks else ""


def _read(text: str) -> Iterator[Graded]:
    over: dict[str, str] = {}  # comment over a table, by its path
    block: list[str] = []
    kind, path, beside = "", "", ""
    names: dict[str, str] = {}
    counts: dict[str, int] = {}
    for line in text.splitlines():
        if line.lstrip().startswith("#"):
            block.append(line.lstrip().removeprefix("#").strip())
            continue
        if head := _TABLE.match(line):
            path, kind, beside = head[2], head[1], (head[3] or "").strip()
            if block:
                over[path] = " ".join(block)
            if kind == "[[":
                for inner in [one for one in counts if one.startswith(path + ".")]:
                    del counts[inner]
                counts[path] = counts.get(path, 0) + 1
                names[path] = str(counts[path])
        elif found := _VALUE.match(line):
            name, value, comment = found[1], found[2], (found[3] or "").strip()
            if kind == "[[" and name == ENTRY_KEYS.get(path.rpartition(".")[2]):
                names[path] = value.strip("\"'")
            said = next(
                (one for one in (comment, beside, _above(over, path)) if grade_in(one)), comment or beside
            )
            yield from _values(Graded(_key(path, names, name), value, grade_in(said), said))
        block = []


def _values(one: Graded) -> Iterator[Graded]:
    """Yield a value, or those of a table on one line under their own keys."""
    if not one.value.startswith("{"):
        yield one
        return
    for word, value in tomllib.loads(f"table = {one.value}")["table"].items():
        yield Graded(f"{one.key}.{word}", str(value), one.grade, one.comment)


def _above(over: dict[str, str], path: str) -> str:
    while path:
        if path in over:
            return over[path]
        path = path.rpartition(".")[0]
    return ""


def _key(path: str, names: dict[str, str], name: str) -> str:
    steps, so_far = [], ""
    for step in filter(None, path.split(".")):
        so_far = f"{so_far}.{step}" if so_far else step
        steps.append(f"{step}[{names[so_far]}]" if so_far in names else step)
    return ".".join([*steps, name])
