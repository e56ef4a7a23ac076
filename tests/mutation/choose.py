"""Which tests are to notice a change of a line: those that run it, most telling first, within a budget."""

import ast
import json
from collections import defaultdict
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from tests.mutation.mutants import KEPT, ROOT
from tests.mutation.validity import imports, module_of, modules

REACH = KEPT / "reach"  # what `reach.py` recorded
FIXTURES = "fixtures"  # stands behind a file of tests where a test has its name
MOST_CPU_S = 60.0  # of the tests of one change, as they took when their lines were recorded
MOST_TESTS = 100
COSTLY_S = 1.0  # of a test: it comes after those that take less, or a few of them would use up the budget
PAGES = "tests/dashboard/"
OFTEN = 5


@dataclass(frozen=True)
class Reach:
    """What each test ran: lines by file, and its cost."""

    lines: dict[str, dict[str, frozenset[int]]]  # by file, then by test
    files: dict[str, int]  # how many files of `sim/` a test runs through: few where it is about one thing
    cpu_s: dict[str, float]


@cache
def recorded() -> Reach:
    """Read what was recorded; what failed then is left out."""
    lines: dict[str, dict[str, frozenset[int]]] = defaultdict(dict)
    files: dict[str, int] = defaultdict(int)
    cpu_s: dict[str, float] = {}
    for path in sorted(REACH.glob("*.json")):
        told = json.loads(path.read_text(encoding="utf-8"))
        held = {test: cost for test, cost in told["cpu_s"].items() if test not in told["failed"]}
        cpu_s |= held
        by_file = defaultdict(list)
        for test in held:
            by_file[test.partition("::")[0]].append(test)
        for name, found in told["lines"].items():
            shared = name.endswith(f"::{FIXTURES}")
            for test in by_file[name.partition("::")[0]] if shared else [name] if name in held else []:
                files[test] += len(found)
                for file, numbers in found.items():
                    lines[file][test] = lines[file].get(test, frozenset()) | frozenset(numbers)
    return Reach(lines, files, cpu_s)


def statement(source: str, line: int) -> range:
    """Return the lines of the statement that a line is of; of one that holds others, its head.

    Examples
    --------
    >>> statement("if (a and\\n    b):\\n    c = [\\n1]", 2)
    range(1, 3)
    >>> statement("if (a and\\n    b):\\n    c = [\\n1]", 4)
    range(3, 5)
    """
    around = [
        node
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.stmt) and node.lineno <= line <= (node.end_lineno or node.lineno)
    ]
    if not around:
        return range(line, line + 1)
    inner = max(around, key=lambda node: node.lineno)
    body = getattr(inner, "body", None)
    end = body[0].lineno if isinstance(body, list) and body else (inner.end_lineno or inner.lineno) + 1
    return range(inner.lineno, max(end, line + 1))


def tests_for(file: str, line: int) -> list[str]:
    """Name the tests of a line of a file; where none runs it, those that run most of the file.

    Where nothing of the file is run by any, they are those of the files that take something from it.
    """
    reach = recorded()
    by_test = reach.lines.get(file) or _of_importers(file, reach)
    wanted = frozenset(statement((ROOT / file).read_text(encoding="utf-8"), line))
    found = [test for test, lines in by_test.items() if lines & wanted]
    # Tests of pages wait for other processes: they are asked where no other test runs the line.
    found = [test for test in found if not test.startswith(PAGES)] or found
    if found:
        found.sort(key=lambda test: (reach.files[test], reach.cpu_s[test]))
    else:  # run when it is imported, or never
        found = sorted(by_test, key=lambda test: (-len(by_test[test]), reach.cpu_s[test]))
    order = _spread(found, Path(file).stem.rstrip("s"))
    order.sort(key=lambda test: reach.cpu_s[test] > COSTLY_S)
    return _within(order, reach.cpu_s)


def _of_importers(file: str, reach: Reach) -> dict[str, frozenset[int]]:
    name = module_of(ROOT / file)
    found: dict[str, frozenset[int]] = {}
    for path in modules().values():
        if name in imports(path):
            for test, lines in reach.lines.get(path.relative_to(ROOT).as_posix(), {}).items():
                found[test] = found.get(test, frozenset()) | lines
    return found


def _spread(tests: list[str], word: str) -> list[str]:
    """Take tests of each file of tests in turn, so that one file's many cases do not use up the budget.

    Of files that speak of the `word` several at once, and before the others.
    """
    turns: dict[str, int] = defaultdict(int)
    order = []
    for at, test in enumerate(tests):
        file = test.partition("::")[0]
        spoken = _spoken(file, word)
        order.append((turns[file] // (1 + spoken), -spoken, at, test))
        turns[file] += 1
    return [test for *_, test in sorted(order)]


@cache
def _spoken(file: str, word: str) -> int:
    """Count how often a file of tests says a word, in its name or in its text; five times is often."""
    path = ROOT / file
    text = path.read_text(encoding="utf-8") if path.is_file() else ""
    return min(f"{file} {text}".lower().count(word), OFTEN)


def _within(tests: list[str], cpu_s: dict[str, float]) -> list[str]:
    found, left_s = [], MOST_CPU_S
    for test in tests:
        if len(found) == MOST_TESTS:
            break
        if cpu_s[test] <= left_s or not found:
            found.append(test)
            left_s -= cpu_s[test]
    return found
