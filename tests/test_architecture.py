"""The rules of the house as checks: imports, chance, docstrings, units, words; and checks of the checks."""

import ast
import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
SOURCES = sorted(path for top in ("sim", "dashboard") for path in (ROOT / top).rglob("*.py"))
SIM = [path for path in SOURCES if path.is_relative_to(ROOT / "sim")]
# Figures and reports hold numbers in the units people chose to see.
HOLD_UNITS = [path for path in SIM if not path.is_relative_to(ROOT / "sim" / "report")]
LONGEST_FILE = 300
# These may be longer, up to the lines given; DEVELOPERS says why.
LONGER_FILES = {
    "sim/plant/loop.py": 350,
    "sim/plant/uv.py": 450,
    "sim/diary/parts/stage.py": 370,
    "sim/diary/parts/uv.py": 430,
    "sim/study/statistics/intervals.py": 430,
    "sim/study/compare/comparison.py": 450,
    "sim/study/compare/sentences.py": 350,
}

GROUND = {
    "sim",
    "sim.units",
    "sim.errors",
    "sim.constants",
    "sim.compiled",
    "sim.disk",
    "sim.pool",
    "sim.version",
}
EQUATIONS = ("sim.supply", "sim.demand", "sim.plant", "sim.upkeep")
# What each place may import besides itself; data moves along this line and never back. Equations take
# numbers, so they do not know a scenario; siblings do not know each other.
MAY = {
    **dict.fromkeys(GROUND, GROUND),
    "sim.scenario": GROUND,
    **dict.fromkeys(EQUATIONS, GROUND),
}
# From left to right.
_LINE = (
    *(
        "sim.twin",
        "sim.outcome",
        "sim.diary",
        "sim.study",
        "sim.drill",
        "sim.api",
        "sim.report",
        "sim.commands",
    ),
    "sim.cli",
)
for _place, _name in enumerate(_LINE):
    MAY[_name] = {*GROUND, "sim.scenario", *EQUATIONS, *_LINE[:_place]}
MAY["dashboard"] = MAY["sim.commands"]  # beside the commands: both only ask and show
OUTSIDE = {"simpy": ("sim.twin",), "numba": ("sim.compiled",), "streamlit": ("dashboard",)}
OUTSIDE["argparse"] = ("sim.cli", "sim.commands")

UNIT_SUFFIXES = tuple(
    f"_{unit}"
    for unit in (
        *(
            "m",
            "m2",
            "m3",
            "m5",
            "m6",
            "s",
            "h",
            "min",
            "days",
            "years",
            "pa",
            "kg",
            "k",
            "c",
            "w",
            "j",
            "kwh",
            "ntu",
        ),
        *("j_m2", "m3_s", "kg_m3", "kg_m2", "m6_s2", "s2_m5", "pa_s_m3", "pa_s2_m6", "pa_per_s"),
        *("per_m", "per_s", "per_cm", "per_year", "per_day", "per_person_day", "per_event", "per_visit"),
    )
)
# Last words of names that hold a share, a ratio, a shape of a distribution or a count.
NO_UNIT_ENDS = {
    *("factor", "fraction", "share", "ratio", "efficiency", "cv", "shape", "spread", "exponent", "quantile"),
    *("steepness", "sharpness", "roughness", "volumes", "correlation", "left", "count"),
}
# Whole names, each for its reason; a test holds that every one is in use.
BARE_NAMES = {
    *(
        "people",
        "days_that_matter",
        "unusable_from_month",
        "guests",
        "fills",
        "housings",
        "confidence",
        "probability",
    ),
    *(
        "reynolds",
        "growth",
        "load",
        "floor",
        "initial",
        "log_excess",
        "unit_exponential",
        "unit_normal",
    ),
    *(
        "film",
        "lamp",
        "sleeve",
        "window",
        "optical",
        "permanent",
        "temperature",
        "burn_in_loss",
    ),  # of new and clean
    *("factor_at_zero", "efficiency_at_rated", "ratio_at_capacity", "output_at_end", "share_upper_bound"),
    *("sigma_g", "uv_below"),  # geometric standard deviation; share of new and clean
    *(
        "amount",
        "inflow_amount",
        "store",
        "limit",
        "value",
        "kept",
        "estimate",
        "low",
        "high",
        "first",
        "last",
        "unseen",
        "middle",
    ),  # any unit, in as out
    *("step", "scale", "centre", "least"),  # the unit of what is read
    *(
        "brier",
        "pit",
        "pit_probability",
        "came",
    ),  # scores without a unit; what came, in the unit of the members
    "temper",  # a power
    *("light", "read", "on", "alarm", "log_evidence"),  # of new and clean, 0 or 1; a log of a density
    *("came_in", "house", "spilled", "removed", "stored", "started"),  # a ledger: one unit in all six
    *(
        "within",
        "half_width_wanted",
        "mean",
        "between",
        "most",
        "zone",
        "size",
        "gap",
        "matters",
    ),  # the unit of what is compared
    *(
        "price",
        "saved",
        "cost",
        "due_cost",
        "parts",
        "labour",
        "callouts",
        "water",
        "part_price",
        "tanker_load",
        "tanker_m3",
        "call",
        "open_cost",
        "other_cost",
    ),  # money
    *("now", "tested", "known"),  # payoffs, in the unit of what is paid
    "needed",  # a log of a share of light
    *(
        "owner_hour",
        "technician_hour",
        "technician_fee",
        "cost_median",
        "cost_p90",
        "electricity_kwh",
    ),  # money
    *("hour", "hours", "minutes", "years", "days", "money", "put_off_waits"),  # the name is the unit
    *("warmest_day", "day_of_year"),  # a date, in days
    *("limit_days_below_target", "days_median", "days_p90", "guest_days_mean", "away_days_mean"),  # days
    *("error", "limit_error", "cost_error", "worth", "days_below_target"),  # chances; money; days
    *("coefficient", "linear_one", "quadratic_one"),  # compound units that have no plain short form
}
NUMPY_SOURCES = {"Generator", "SeedSequence", "Philox", "PCG64", "BitGenerator", "default_rng"}
# Spelled so that this file passes its own checks.
BANNED_WORD = re.compile(r"\bs[a]fe\b", re.IGNORECASE)
MACHINE = re.compile(
    r"(?<![\w.~}])/(?:home|root|opt|work|Users|mnt|tmp|var)/\w|[A-Z]:\\\\?Users|\bpypi\.o[r]g"
)


def module_of(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def place_of(module: str) -> str | None:
    """Return the entry of the import table a module belongs to."""
    while module and module not in MAY:
        module = module.rpartition(".")[0]
    return module or None


def imported(tree: ast.Module, module: str) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module}: relative import"
            source = node.module or ""
            # `from sim.plant import pump` imports a module, `from sim.units import text` a name in one
            yield from (f"{source}.{n.name}" if f"{source}.{n.name}" in MAY else source for n in node.names)


def import_faults(source: str, module: str) -> list[str]:
    place, faults = place_of(module), []
    if place is None or (place == "sim" and module != "sim"):
        return [f"{module}: has no place in the import table"]
    for name in imported(ast.parse(source), module):
        top = name.partition(".")[0]
        if top in OUTSIDE and place not in OUTSIDE[top]:
            faults.append(f"{module}: imports {name}; only {OUTSIDE[top][0]} does")
        if top in ("sim", "dashboard", "scenarios", "tests"):
            other = place_of(name)
            if other != place and other not in MAY[place]:
                faults.append(f"{module}: imports {name} against the line")
    return faults


def import_graph(sources: dict[str, str]) -> dict[str, set[str]]:
    """Return which module imports which, by real imports and by those for types alone."""
    graph = {}
    for module, source in sources.items():
        found = set()
        for node in ast.walk(ast.parse(source)):
            if isinstance(node, ast.Import):
                found |= {name.name for name in node.names}
            elif isinstance(node, ast.ImportFrom):
                names = [f"{node.module}.{name.name}" for name in node.names]
                found |= {name if name in sources else str(node.module) for name in names}
        graph[module] = (found & set(sources)) - {module}
    return graph


def circles(graph: dict[str, set[str]]) -> list[tuple[str, ...]]:
    """Return groups of modules that reach one another by imports."""

    def reached(start: str) -> set[str]:
        seen, open_ends = set(), [start]
        while open_ends:
            new = graph[open_ends.pop()] - seen
            seen |= new
            open_ends += new
        return seen

    reach = {module: reached(module) for module in graph}
    groups = {tuple(sorted(o for o in reach[m] if m in reach[o])) for m in graph if m in reach[m]}
    return sorted(groups)


def random_faults(source: str) -> list[str]:
    faults = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Attribute) and ast.unparse(node.value) in ("np.random", "numpy.random"):
            if node.attr not in NUMPY_SOURCES:
                faults.append(f"line {node.lineno}: np.random.{node.attr}")
        elif isinstance(node, ast.Call) and ast.unparse(node.func).endswith("default_rng") and not node.args:
            faults.append(f"line {node.lineno}: generator without a seed")
        elif isinstance(node, ast.Import) and any(name.name == "random" for name in node.names):
            faults.append(f"line {node.lineno}: import random")
        elif isinstance(node, ast.ImportFrom) and node.module in ("random", "numpy.random"):
            bad = [n.name for n in node.names if node.module == "random" or n.name not in NUMPY_SOURCES]
            faults += [f"line {node.lineno}: from {node.module} import {name}" for name in bad]
    return faults


def public_functions(tree: ast.Module) -> Iterator[ast.FunctionDef]:
    """Walk through functions and methods that others may call."""
    for node in tree.body:
        inside = node.body if isinstance(node, ast.ClassDef) and not node.name.startswith("_") else [node]
        yield from (f for f in inside if isinstance(f, ast.FunctionDef) and not f.name.startswith("_"))


def arguments(function: ast.FunctionDef) -> list[ast.arg]:
    a = function.args
    found = [*a.posonlyargs, *a.args, a.vararg, *a.kwonlyargs, a.kwarg]
    return [one for one in found if one is not None and one.arg not in ("self", "cls")]


def documented(function: ast.FunctionDef) -> dict[str, str]:
    """Return names and types in the Parameters section."""
    text = ast.get_docstring(function) or ""
    section = re.search(r"^Parameters\n-+\n(.*?)(?=\n\n\S[^\n]*\n-+\n|\Z)", text, re.DOTALL | re.MULTILINE)
    found: dict[str, str] = {}
    for line in (section.group(1) if section else "").splitlines():
        head = re.match(r"(\*{0,2}\w[\w, *]*?)(?: : (.*))?$", line)
        if head:
            found |= dict.fromkeys((name.strip(" *") for name in head[1].split(",")), head[2] or "")
    return found


def full_faults(source: str) -> list[str]:
    """Equations and statistics name every argument: units, shapes and ranges stand there."""
    return [
        f"{function.name}: {name} is not in the docstring"
        for function in public_functions(ast.parse(source))
        for name in sorted({one.arg for one in arguments(function)} - set(documented(function)))
    ]


def docstring_faults(source: str) -> list[str]:
    faults = []
    for function in public_functions(ast.parse(source)):
        wanted, given = {one.arg for one in arguments(function)}, set(documented(function))
        faults += [f"{function.name}: {name} is not an argument" for name in sorted(given - wanted)]
        if not ast.get_docstring(function):
            faults.append(f"{function.name}: no docstring")
    return faults


def carries_unit(name: str) -> bool:
    ending = name.rpartition("_")[2]
    return name in BARE_NAMES or ending in NO_UNIT_ENDS or name.endswith(UNIT_SUFFIXES)


def is_float(annotation: ast.expr | None, said: str = "") -> bool:
    """Return whether a value is a float, by annotation or, where there is none, by docstring."""
    text = ast.unparse(annotation) if annotation is not None else said
    return re.match(r"float\b(?! \| (?!None))", text) is not None


def float_names(source: str) -> Iterator[tuple[str, str]]:
    """Walk through what holds a float: arguments of public functions, fields of classes."""
    tree = ast.parse(source)
    for function in public_functions(tree):
        said = documented(function)
        for one in arguments(function):
            if is_float(one.annotation, said.get(one.arg, "")):
                yield function.name, one.arg
    for node in ast.walk(tree):
        for item in node.body if isinstance(node, ast.ClassDef) else []:
            if (
                isinstance(item, ast.AnnAssign)
                and isinstance(item.target, ast.Name)
                and is_float(item.annotation)
            ):
                yield node.name, item.target.id


def unit_faults(source: str) -> list[str]:
    return [
        f"{owner}: {name} carries no unit" for owner, name in float_names(source) if not carries_unit(name)
    ]


def word_faults(text: str) -> list[str]:
    return [
        f"line {number}: {found[0]!r}"
        for number, line in enumerate(text.splitlines(), 1)
        for pattern in (BANNED_WORD, MACHINE)
        if (found := pattern.search(line))
    ]


def texts() -> list[Path]:
    """Return the files of the repository that hold text, committed or about to be."""
    command = ["git", "ls-files", "--cached", "--others", "--exclude-standard"]
    listed = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout.splitlines()
    return [ROOT / name for name in listed if (ROOT / name).is_file()]


def gathered(paths: list[Path], faults_of) -> list[str]:
    return [f"{p.relative_to(ROOT)}: {fault}" for p in paths for fault in faults_of(p.read_text("utf-8"))]


def test_there_is_something_to_check():
    assert len(SIM) > 50
    assert ROOT / "README.md" in texts()
    assert {place_of(module_of(path)) for path in SIM} >= {"sim.plant", "sim.twin", "sim.study", "sim.cli"}


def test_imports_go_left_to_right():
    assert [
        fault for path in SOURCES for fault in import_faults(path.read_text("utf-8"), module_of(path))
    ] == []


def test_no_imports_go_in_a_circle():
    graph = import_graph({module_of(path): path.read_text("utf-8") for path in SOURCES})
    assert len(graph) == len(SOURCES)
    assert circles(graph) == []


def test_circle_check_can_fail():
    types_only = "if TYPE_CHECKING:\n    from sim.b import B"
    inside = "def f():\n    import sim.a"
    pair = import_graph({"sim.a": types_only, "sim.b": "from sim import c", "sim.c": inside})
    assert circles(pair) == [("sim.a", "sim.b", "sim.c")]
    assert circles(import_graph({"sim.a": "from sim.b import B", "sim.b": "import sim.c", "sim.c": ""})) == []


def test_nothing_draws_from_a_global_random_source():
    assert gathered(SOURCES, random_faults) == []


def test_docstrings_name_the_arguments():
    assert gathered(SIM, docstring_faults) == []
    full = [path for path in SIM if module_of(path).startswith((*EQUATIONS, "sim.study.statistics"))]
    assert gathered(full, full_faults) == []


def test_names_carry_units():
    assert gathered(HOLD_UNITS, unit_faults) == []


def test_names_without_unit_are_all_in_use():
    used = {name for path in HOLD_UNITS for _, name in float_names(path.read_text("utf-8"))}
    assert BARE_NAMES - used == set()
    assert NO_UNIT_ENDS - {name.rpartition("_")[2] for name in used} == set()


def test_files_are_short():
    lengths = {str(path.relative_to(ROOT)): len(path.read_text("utf-8").splitlines()) for path in SOURCES}
    assert {
        name: lines for name, lines in lengths.items() if lines > LONGER_FILES.get(name, LONGEST_FILE)
    } == {}


def test_words_and_paths():
    assert gathered(texts(), word_faults) == []


@pytest.mark.parametrize(
    ("source", "module"),
    [
        ("from sim.twin import run", "sim.plant.pump"),
        ("from sim.supply import roof", "sim.demand.trace"),  # siblings
        ("from sim.scenario.train import Pump", "sim.plant.pump"),  # equations take numbers
        ("from sim import cli", "sim.study.compare.sentences"),
        ("import sim.commands.run", "sim.report.html.comparison_report"),
        ("def f():\n    import simpy", "sim.study.runs.replicate"),
        ("import numba.typed", "sim.plant.loop"),
        ("import streamlit as st", "sim.outcome.frames"),
        ("import argparse", "sim.study.questions"),
        ("", "sim.elsewhere"),
    ],
)
def test_import_check_can_fail(source, module):
    assert len(import_faults(source, module)) == 1


@pytest.mark.parametrize(
    ("source", "module"),
    [
        ("from sim.plant import pump\nimport simpy\nfrom sim import __version__", "sim.twin.run"),
        ("from sim.plant import tank\nfrom sim.compiled import compiled", "sim.plant.step"),
        ("import streamlit\nfrom sim.study import answer", "dashboard.app"),
        ("import argparse", "sim.commands.run"),
    ],
)
def test_import_check_lets_the_line_pass(source, module):
    assert import_faults(source, module) == []


@pytest.mark.parametrize(
    "source",
    [
        "np.random.normal(0.0, 1.0)",
        "numpy.random.seed(1)",
        "import random",
        "from random import choice",
        "from numpy.random import rand",
        "np.random.default_rng()",
    ],
)
def test_random_check_can_fail(source):
    assert len(random_faults(source)) == 1


def test_random_check_lets_a_seeded_generator_pass():
    assert random_faults("rng: np.random.Generator = np.random.default_rng(1)\nrng.normal()") == []


GOOD = '''
def lift_m(head_m: float, width_m, *others: float, share: float = 1.0) -> float:
    """Return a height.

    Parameters
    ----------
    head_m, width_m : float
        Heights [m]:
        two of them.
    *others : float
        More.
    share : float
        Part of it.

    Returns
    -------
    float
        Height [m].
    """
'''


def test_docstring_check_can_fail():
    assert docstring_faults(GOOD) == []
    assert docstring_faults(GOOD.replace("share : float", "part : float")) == [
        "lift_m: part is not an argument",
    ]
    assert full_faults(GOOD) == []
    assert full_faults(GOOD.replace("head_m, width_m :", "head_m :")) == [
        "lift_m: width_m is not in the docstring"
    ]
    assert docstring_faults("def f(): ...") == ["f: no docstring"]
    assert full_faults("class A:\n    def f(self, x): 'Do.'") == ["f: x is not in the docstring"]
    assert docstring_faults("def _f(x): ...") == []


def test_unit_check_can_fail():
    assert unit_faults(GOOD.replace("*others: float, ", "")) == []
    assert unit_faults(GOOD) == ["lift_m: others carries no unit"]
    assert unit_faults(GOOD.replace("width_m", "width").replace("*others: float, ", "")) == [
        "lift_m: width carries no unit"
    ]
    assert unit_faults(
        "class A:\n    depth: float | None = None\n    note: float | str\n    depth_m: float"
    ) == ["A: depth carries no unit"]


def test_word_check_can_fail():
    assert word_faults("unsafe-water hours, a failsafe valve, ~/.cache, https://a.example/home/x") == []
    assert len(word_faults("water that is sa" + "fe\nSA" + "FE\nopen('/ho" + "me/me/x')\n`/op" + "t/x`")) == 4
