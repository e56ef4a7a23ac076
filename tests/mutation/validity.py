"""For how long what came of a mutant holds good: what its tests run through, and the test that noticed it."""

import ast
import hashlib
from functools import cache
from pathlib import Path

from tests.mutation.mutants import NOT_HERE, ROOT, holding, stages

DECORATORS = ("compiled", "lean", "inlined")


def module_of(path: Path) -> str:
    """Name the module of a file."""
    return str(path.relative_to(ROOT).with_suffix("")).replace("/", ".")


@cache
def modules() -> dict[str, Path]:
    """All modules of `sim/` by name."""
    paths = (ROOT / "sim").rglob("*.py")
    return {module_of(path).removesuffix(".__init__"): path for path in paths}


@cache
def imports(path: Path) -> frozenset[str]:
    """Name the modules of `sim/` that a file imports itself."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
    return frozenset(found & set(modules()))


def reached_from(names: set[str]) -> set[str]:
    """Name the modules that these import, themselves included, however far off."""
    reached = set(names)
    while more := {used for name in reached for used in imports(modules()[name])} - reached:
        reached |= more
    return reached


def reaching(name: str) -> set[str]:
    """Name the modules that import one, itself included, however far off."""
    reached = {name}
    while more := {other for other, path in modules().items() if imports(path) & reached} - reached:
        reached |= more
    return reached


@cache
def is_beside(file: str) -> bool:
    """Return whether a change cannot reach compiled code: that uses no name of the file, however far off."""
    return module_of(ROOT / file) not in compiled_in()


@cache
def compiled_in() -> frozenset[str]:
    """Name the modules that hold compiled functions, and those whose names these use, however far off."""
    todo = [name for name, path in modules().items() if _compiled_functions(path)]
    found = set(todo)
    while todo:
        given = _given(modules()[todo.pop()]) - found
        found |= given
        todo += given
    return frozenset(found)


def holds_compiled(file: str) -> bool:
    """Return whether a file has compiled functions."""
    return bool(_compiled_functions(ROOT / file))


def _compiled_functions(path: Path) -> list[ast.FunctionDef]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    functions = [node for node in tree.body if isinstance(node, ast.FunctionDef)]
    return [node for node in functions if any(_name(one) in DECORATORS for one in node.decorator_list)]


def _name(node: ast.expr) -> str:
    return node.id if isinstance(node, ast.Name) else ""


def _given(path: Path) -> set[str]:
    """Name the modules whose names the compiled functions and the constants of a module use."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    constants = [node.value for node in tree.body if isinstance(node, ast.Assign | ast.AnnAssign)]
    within = [*(node for one in _compiled_functions(path) for node in one.body), *filter(None, constants)]
    names = {node.id for top in within for node in ast.walk(top) if isinstance(node, ast.Name)}
    found = set()
    for node in tree.body:
        if isinstance(node, ast.ImportFrom) and node.module:
            used = [alias.name for alias in node.names if (alias.asname or alias.name) in names]
            whole = {f"{node.module}.{name}" for name in used} & set(modules())
            found |= whole or ({node.module} & set(modules()) if used else set())
    return found


@cache
def tests_of(file: str) -> str:
    """Digest all tests of a file and what they run through: what survived them may not survive others."""
    return _digest([*_files(file), *_run_through(file, _files(file))], repr((stages(file), NOT_HERE)))


@cache
def proof(file: str, test: str) -> str:
    """Digest one test, what it runs through and all in its file that is no test; "gone" when it is."""
    name, _, function = test.partition("::")
    function = function.partition("[")[0]
    path = ROOT / name
    if not path.is_file():
        return "gone"
    if not name.startswith("tests/"):  # a doctest of the file itself
        return _digest(list(_run_through(file, [])), "")
    tree = ast.parse(path.read_text(encoding="utf-8"))
    tests = {node.name: node for node in tree.body if isinstance(node, ast.FunctionDef) and _is_test(node)}
    if function and function not in tests:
        return "gone"
    rest = [node for node in tree.body if node not in tests.values()]
    kept = [*rest, *([tests[function]] if function else tests.values())]
    return _digest(list(_run_through(file, [path])), "\n".join(ast.dump(node) for node in kept))


def _run_through(file: str, tests: list[Path]) -> set[Path]:
    """Return what tests run through on the way to a file, the tests themselves left out."""
    conftest = ROOT / "tests" / "conftest.py"
    python = [path for path in tests if path.suffix == ".py"]
    beside = {near for path in tests if path.name.startswith("test_") for near in path.parent.rglob("*.*")}
    beside = {path for path in beside if not path.name.startswith("test_") and path.suffix != ".pyc"}
    if not any("published" in path.parts for path in tests):
        beside = {path for path in beside if path.suffix == ".csv"}
    python += [path for path in beside if path.suffix == ".py"]
    roots = {module_of(ROOT / file)} | {name for path in python for name in imports(path)}
    if any(_uses_conftest(path) for path in python):
        roots |= imports(conftest)
        beside |= {conftest, *(path for path in (ROOT / "scenarios").rglob("*.*") if path.suffix != ".pyc")}
    return beside | {modules()[name] for name in reached_from(roots)}


@cache
def _uses_conftest(path: Path) -> bool:
    return _uses(path, _fixtures(ROOT / "tests" / "conftest.py"))


def needs_conftest(tests: list[str]) -> bool:
    """Return whether any of these files or folders of tests uses a fixture of `conftest.py`."""
    folders = [ROOT / name for name in tests]
    paths = [path for folder in folders for path in ([folder] if folder.is_file() else folder.rglob("*.py"))]
    return any(_uses_conftest(path) for path in paths if "tests" in path.parts)


def _is_test(node: ast.FunctionDef) -> bool:
    return node.name.startswith("test_")


def _files(file: str) -> list[Path]:
    folders = [ROOT / name for name in holding(file)]
    found = [path for folder in folders for path in ([folder] if folder.is_file() else folder.rglob("*"))]
    return sorted(path for path in found if path.is_file() and "__pycache__" not in path.parts)


def _fixtures(path: Path) -> set[str]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return {node.name for node in tree.body if isinstance(node, ast.FunctionDef) and node.decorator_list}


def _uses(path: Path, names: set[str]) -> bool:
    nodes = ast.walk(ast.parse(path.read_text(encoding="utf-8")))
    return any(node.arg in names for node in nodes if isinstance(node, ast.arg))


def _digest(paths: list[Path], words: str) -> str:
    digest = hashlib.sha256(words.encode())
    for path in sorted(set(paths)):
        digest.update(str(path.relative_to(ROOT)).encode() + path.read_bytes())
    return digest.hexdigest()[:24]
