"""Which functions of the product a published case puts to the test: by who names whom, read from the source.

A function counts as the product's when the shell, the pages or the names for Python lead to it; one that only
tests name does not. Names are followed through functions, classes and what modules do when they are imported;
what is called by a name made up at run time is not seen, so a count here errs on the low side.
"""

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[2]
ENTRIES = ("sim.cli", "sim.api", "sim.commands.", "dashboard.")
EQUATIONS = "tests.published.equations."
Node = tuple[str, str]  # a module and one of its names; "" is what it does when it is imported
DEFINED = ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef


@cache
def trees() -> dict[str, ast.Module]:
    """Return the source of product and equations by name of module."""
    paths = [path for folder in ("sim", "dashboard") for path in (ROOT / folder).rglob("*.py")]
    paths += (ROOT / "tests/published/equations").glob("*.py")
    named = {
        str(path.relative_to(ROOT).with_suffix("")).replace("/", ".").removesuffix(".__init__"): path
        for path in paths
    }
    return {name: ast.parse(path.read_text(encoding="utf-8")) for name, path in named.items()}


@cache
def imported(module: str) -> dict[str, Node]:
    """Return what the names that a module imports stand for."""
    found = {}
    for node in ast.walk(trees()[module]):
        if isinstance(node, ast.ImportFrom) and node.module:
            for alias in node.names:
                whole = f"{node.module}.{alias.name}"
                meant = (whole, "") if whole in trees() else (node.module, alias.name)
                found[alias.asname or alias.name] = meant
    return found


@cache
def pieces(module: str) -> dict[str, list[ast.stmt]]:
    """Return the statements under each name a module gives, those under no name under ""."""
    found: dict[str, list[ast.stmt]] = {"": []}
    for statement in trees()[module].body:
        found.setdefault(given(statement), []).append(statement)
    return found


def given(statement: ast.stmt) -> str:
    """Return the one name a statement gives, or ""."""
    if isinstance(statement, DEFINED):
        return statement.name
    targets = getattr(statement, "targets", [getattr(statement, "target", None)])
    return targets[0].id if len(targets) == 1 and isinstance(targets[0], ast.Name) else ""


@cache
def named_by(node: Node) -> frozenset[Node]:
    """Return the functions, classes and constants that a piece of source names."""
    module, name = node
    known, own = imported(module), pieces(module)
    found = set()
    for inner in (one for statement in own.get(name, []) for one in ast.walk(statement)):
        if isinstance(inner, ast.Name):
            if inner.id in own and inner.id != name:
                found.add((module, inner.id))
            elif inner.id in known:
                found.add(known[inner.id])
        elif isinstance(inner, ast.Attribute) and isinstance(inner.value, ast.Name):
            meant = known.get(inner.value.id)
            if meant and meant[0] in trees() and not meant[1]:
                found.add((meant[0], inner.attr))
    return frozenset(defined(one) for one in found if one[0] in trees())


def defined(node: Node) -> Node:
    """Return where a name is defined that a module only hands on."""
    module, name = node
    handed_on = imported(module).get(name)
    if name in pieces(module) or handed_on is None or handed_on[0] not in trees():
        return node
    return defined(handed_on)


def reached(begin: Iterator[Node] | set[Node]) -> set[Node]:
    """Return what these lead to, themselves included."""
    found, open_ends = set(), set(begin)
    while open_ends:
        found |= open_ends
        open_ends = {more for one in open_ends for more in named_by(one)} - found
    return found


@cache
def of_product() -> frozenset[Node]:
    """Return all that the entries of the product lead to."""
    modules = [name for name in trees() if not name.startswith("tests.")]
    whole = {(name, piece) for name in modules if name.startswith(ENTRIES) for piece in pieces(name)}
    return frozenset(reached(whole | {(name, "") for name in modules}))


def exercised(equation: str) -> set[Node]:
    """Return the functions of `sim/` that an equation calls, also through its neighbours."""
    homes = [name for name in trees() if name.startswith(EQUATIONS) and equation in pieces(name)]
    through = reached_within({(homes[0], equation)})
    called = {more for one in through for more in named_by(one) if more[0].startswith("sim.")}
    ground = ("sim.units", "sim.constants")
    return {one for one in called if one[0] not in ground and one[1] in pieces(one[0])}


def reached_within(begin: set[Node]) -> set[Node]:
    """Return the functions of the equations that these call, themselves included."""
    found: set[Node] = set()
    open_ends = begin
    while open_ends:
        found |= open_ends
        more = {one for node in open_ends for one in named_by(node)}
        open_ends = {one for one in more if one[0].startswith(EQUATIONS) and one[1] != "equation"} - found
    return found


@cache
def only_tests_call(equation: str) -> tuple[str, ...]:
    """Return what an equation calls that no entry of the product leads to, or nothing of ours."""
    called = exercised(equation)
    idle = tuple(sorted(f"{module}.{name}" for module, name in called - of_product() if name))
    return idle if any(name for _, name in called) else ("nothing of ours",)
