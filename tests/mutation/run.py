"""Change one thing in an equation and see whether a test notices; print the share that was noticed.

    python tests/mutation/run.py                     all files, every mutant (long)
    python tests/mutation/run.py --sample 300        a random sample over all files
    python tests/mutation/run.py sim/plant/uv.py     one file

Mutants come from cosmic-ray's operators, cut down to those that leave a number where a number was: bit
operators on floats and the like die of a TypeError and would only flatter the score. Equations run as plain
Python (what is compiled is the same source), so that a mutant costs no compilation; each runs in a fork of a
process that has imported everything. Survivors that are known and why stand in `survivors.csv`.
"""

import argparse
import csv
import importlib
import json
import os
import random
import signal
import sys
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date
from importlib.abc import Loader, MetaPathFinder
from importlib.machinery import ModuleSpec
from importlib.util import spec_from_loader
from pathlib import Path
from types import ModuleType

ROOT = Path(__file__).parents[2]
SURVIVORS = Path(__file__).with_name("survivors.csv")
RESULT = ROOT / "tests" / "evidence" / "results" / "mutation.json"
LIMIT_S = 60
OPERATORS = (
    "ReplaceBinaryOperator_Add_Sub",
    "ReplaceBinaryOperator_Sub_Add",
    "ReplaceBinaryOperator_Mul_Div",
    "ReplaceBinaryOperator_Div_Mul",
    "ReplaceBinaryOperator_Pow_Mul",
    "ReplaceBinaryOperator_FloorDiv_Mul",
    "ReplaceBinaryOperator_Mod_Mul",
    "ReplaceComparisonOperator_Lt_LtE",
    "ReplaceComparisonOperator_Lt_Gt",
    "ReplaceComparisonOperator_LtE_Lt",
    "ReplaceComparisonOperator_LtE_GtE",
    "ReplaceComparisonOperator_Gt_GtE",
    "ReplaceComparisonOperator_Gt_Lt",
    "ReplaceComparisonOperator_GtE_Gt",
    "ReplaceComparisonOperator_GtE_LtE",
    "ReplaceComparisonOperator_Eq_NotEq",
    "ReplaceComparisonOperator_NotEq_Eq",
    "ReplaceUnaryOperator_Delete_USub",
    "ReplaceUnaryOperator_Delete_Not",
    "ReplaceAndWithOr",
    "ReplaceOrWithAnd",
    "ReplaceTrueWithFalse",
    "ReplaceFalseWithTrue",
    "ReplaceBreakWithContinue",
    "ReplaceContinueWithBreak",
    "AddNot",
    "NumberReplacer",
    "ZeroIterationForLoop",
)
# The tests that hold each file, fastest first; its own doctests are always among them.
TESTS = {
    "sim/plant/bypass.py": ("tests/unit/test_plant_bypass.py",),
    "sim/plant/carbon.py": ("tests/unit/test_plant_carbon.py", "tests/published"),
    "sim/plant/cartridge.py": ("tests/unit/test_plant_cartridge.py", "tests/published"),
    "sim/plant/fixture.py": ("tests/unit/test_plant_fixture.py", "tests/published"),
    "sim/plant/lamp.py": (
        "tests/unit/test_plant_lamp.py",
        "tests/published",
        "tests/theory/test_replacement.py",
    ),
    "sim/plant/pipe.py": ("tests/unit/test_plant_pipe.py", "tests/published"),
    "sim/plant/pump.py": ("tests/unit/test_plant_pump.py", "tests/published"),
    "sim/plant/tank.py": ("tests/unit/test_plant_tank.py", "tests/published"),
    "sim/plant/train.py": ("tests/unit/test_plant_train.py", "tests/published"),
    "sim/plant/uv.py": ("tests/unit/test_plant_uv.py", "tests/published"),
    "sim/plant/water.py": ("tests/unit/test_plant_water.py", "tests/published"),
    "sim/supply/cistern.py": (
        "tests/unit/test_supply_equations.py",
        "tests/published",
        "tests/invariants/test_cistern_invariants.py",
    ),
    "sim/supply/rain.py": (
        "tests/unit/test_supply_rain.py",
        "tests/published",
        "tests/theory/test_rain_theory.py",
    ),
    "sim/supply/record.py": ("tests/unit/test_supply_rain.py", "tests/published"),
    "sim/supply/roof.py": ("tests/unit/test_supply_equations.py", "tests/published"),
    "sim/supply/solids.py": ("tests/unit/test_supply_equations.py", "tests/published"),
    "sim/supply/storage.py": ("tests/unit/test_supply_equations.py", "tests/published"),
    "sim/supply/temperature.py": ("tests/unit/test_supply_equations.py", "tests/published"),
    "sim/demand/days.py": ("tests/unit/test_demand_trace.py", "tests/theory/test_demand_theory.py"),
    "sim/demand/end_use.py": ("tests/unit/test_demand_trace.py", "tests/theory/test_demand_theory.py"),
    "sim/demand/peak.py": ("tests/unit/test_demand_peak.py", "tests/published"),
    "sim/demand/profile.py": ("tests/unit/test_demand_profile.py",),
    "sim/demand/pulses.py": ("tests/theory/test_demand_theory.py", "tests/published"),
    "sim/demand/trace.py": ("tests/unit/test_demand_trace.py", "tests/theory/test_demand_theory.py"),
    "sim/upkeep/rules.py": ("tests/unit/test_upkeep_rules.py",),
    "sim/upkeep/sampling.py": ("tests/unit/test_upkeep_sampling.py",),
    "sim/upkeep/walk.py": ("tests/unit/test_procedures.py",),
    "sim/outcome/sizing.py": ("tests/unit/test_outcome_sizing.py",),
    "sim/outcome/measures.py": ("tests/unit/test_outcome_measures.py",),
}

# Left out: a division by 0 that compiled code answers with infinity and plain Python refuses; a queue that
# calls none of these equations and takes seconds.
NOT_HERE = (
    "tests/unit/test_plant_train.py::test_flow_uses_up_the_drive[0.0-0.0",
    "tests/published/test_cases.py::test_case[queue: mean wait at random]",
    "tests/published/test_cases.py::test_case[queue: mean stay at random]",
)


@dataclass(frozen=True)
class Mutant:
    """One change."""

    file: str
    operator: str
    occurrence: int
    line: int
    before: str
    after: str
    code: str

    @property
    def name(self) -> str:
        """File, line and change, to be found again in `survivors.csv`."""
        return f"{self.file}:{self.before} -> {self.after}"


class _Mutated(MetaPathFinder, Loader):
    """Gives the mutated source when its module is imported."""

    def __init__(self, mutant: Mutant):
        self.mutant = mutant
        self.module = mutant.file.removesuffix(".py").replace("/", ".")

    def find_spec(self, fullname: str, path: object = None, target: object = None) -> ModuleSpec | None:
        if fullname != self.module:
            return None
        return spec_from_loader(fullname, self, origin=str(ROOT / self.mutant.file))

    def exec_module(self, module: ModuleType) -> None:
        module.__file__ = str(ROOT / self.mutant.file)
        exec(compile(self.mutant.code, module.__file__, "exec"), module.__dict__)


def mutants(file: str) -> Iterator[Mutant]:
    """Every mutant of a file, but those of docstrings, decorators and annotations."""
    from cosmic_ray.mutating import mutate_code  # noqa: PLC0415
    from cosmic_ray.plugins import get_operator  # noqa: PLC0415

    source = (ROOT / file).read_text(encoding="utf-8")
    for name in OPERATORS:
        occurrence = 0
        while True:
            code = mutate_code(source, get_operator(f"core/{name}")(), occurrence)
            if code is None:
                break
            mutant = _described(file, name, occurrence, source, code)
            if mutant is not None:
                yield mutant
            occurrence += 1


def _described(file: str, operator: str, occurrence: int, source: str, code: str) -> Mutant | None:
    old, new = source.splitlines(), code.splitlines()
    for number, (before, after) in enumerate(zip(old, new, strict=False), 1):
        if before != after:
            if before.lstrip().startswith(("@", "from ", "import ")) or "pragma: same" in before:
                return None
            return Mutant(file, operator, occurrence, number, before.strip(), after.strip(), code)
    return None


def prepare() -> None:
    """Import once what every child needs, with the compiler standing aside."""
    import numba  # noqa: PLC0415

    def plain(*args: object, **more: object) -> object:
        def keep(function: object) -> object:
            function.py_func = function  # type: ignore[attr-defined]
            return function

        return keep(args[0]) if args and callable(args[0]) else keep

    numba.njit = plain
    for name in (
        "pytest",
        "hypothesis",
        "hypothesis.strategies",
        "numpy",
        "pandas",
        "scipy.integrate",
        "scipy.optimize",
        "scipy.stats",
        "fluids",
        "iapws",
        "pint",
        "pydantic",
        "_pytest.doctest",
    ):
        importlib.import_module(name)


def tests_of(file: str) -> list[str]:
    """The tests that are to notice a change in a file."""
    return [file, *(name for name in TESTS[file] if (ROOT / name).exists())]


def run_tests(mutant: Mutant | None, file: str, deselect: tuple[str, ...]) -> int:
    """Run the tests of a file in a fork; return its exit code, -1 when it took too long."""
    child = os.fork()
    if child == 0:
        _child(mutant, file, deselect)
    end = time.monotonic() + LIMIT_S
    while time.monotonic() < end:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.02)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return -1


def _child(mutant: Mutant | None, file: str, deselect: tuple[str, ...]) -> None:
    import pytest  # noqa: PLC0415

    quiet = os.open(os.devnull, os.O_WRONLY)
    log = os.environ.get("MUTATION_LOG")
    target = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_TRUNC) if log and mutant is None else quiet
    os.dup2(target, 1)
    os.dup2(target, 2)
    words = ["-x", "-p", "no:cacheprovider", "-p", "no:xdist", "--no-header"]
    words += ["-W", "ignore::pytest.PytestAssertRewriteWarning"]
    words += [f"--deselect={name}" for name in (*NOT_HERE, *deselect)]
    os.environ["HYPOTHESIS_STORAGE_DIRECTORY"] = str(Path(tempfile.gettempdir()) / "mutation_examples")
    try:
        if mutant is not None:  # before pytest does, which would read the file itself for its doctests
            sys.meta_path.insert(0, _Mutated(mutant))
            importlib.import_module(mutant.file.removesuffix(".py").replace("/", "."))
        code = int(pytest.main([*words, *tests_of(file)]))
    except BaseException as error:
        print(repr(error), flush=True)
        code = 3
    os._exit(code)


def main() -> int:
    """Run what is asked for and print the score."""
    options = _options()
    os.chdir(ROOT)
    sys.path.insert(0, str(ROOT))
    prepare()
    files = options.files or list(TESTS)
    chosen = [mutant for file in files for mutant in mutants(file)]
    everything = len(chosen)
    if options.sample and options.sample < everything:
        chosen = random.Random(options.seed).sample(chosen, options.sample)
    skipped = tuple(options.deselect)
    held = sorted({mutant.file for mutant in chosen})
    with ThreadPoolExecutor(options.workers) as pool:
        codes = list(pool.map(lambda file: run_tests(None, file, skipped), held))
    for file, code in zip(held, codes, strict=True):
        if code:
            print(
                f"{file}: its tests fail without any change (exit {code}); nothing can be said",
                file=sys.stderr,
            )
            return 1
    print(f"{len(chosen)} of {everything} mutants in {len(files)} files", file=sys.stderr)
    survivors, tried = [], 0
    end = time.monotonic() + 60.0 * options.minutes

    def attempt(mutant: Mutant) -> int | None:
        return run_tests(mutant, mutant.file, skipped) if time.monotonic() < end else None

    with ThreadPoolExecutor(options.workers) as pool:
        found = pool.map(attempt, chosen)
        for number, (mutant, code) in enumerate(zip(chosen, found, strict=True), 1):
            tried += code is not None
            if code == 0:
                survivors.append(mutant)
                print(
                    f"survived {mutant.file}:{mutant.line}: {mutant.before}  ->  {mutant.after}", flush=True
                )
            if number % 100 == 0:
                print(f"{number} done, {len(survivors)} survived", file=sys.stderr)
    _report(options, tried, everything, survivors)
    return 0


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Which changes to the equations does no test notice?")
    parser.add_argument("files", nargs="*", choices=[*TESTS, []], default=[])
    parser.add_argument("--sample", type=int, help="try this many, drawn at random")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--minutes", type=float, default=1e6, help="begin no more mutants after this long")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--deselect", action="append", default=[])
    parser.add_argument("--keep", action="store_true", help="write the figures for the evidence page")
    return parser.parse_args()


def _known() -> set[str]:
    with SURVIVORS.open(encoding="utf-8", newline="") as file:
        return {row["mutant"] for row in csv.DictReader(file)}


def _report(options: argparse.Namespace, tried: int, everything: int, survivors: list[Mutant]) -> None:
    known = _known() if SURVIVORS.exists() else set()
    new = [mutant for mutant in survivors if mutant.name not in known]
    killed = tried - len(survivors)
    print(f"killed {killed} of {tried} ({killed / max(tried, 1):.1%}); {len(new)} survivors without a reason")
    if options.keep:
        figures = {
            "mutants": everything,
            "tried": tried,
            "killed": killed,
            "score": round(killed / tried, 4),
            "survivors_with_a_reason": len(survivors) - len(new),
            "survivors_without_a_reason": len(new),
        }
        words = "python tests/mutation/run.py" + (f" --sample {options.sample}" if options.sample else "")
        words += f" --minutes {options.minutes:g} --keep" if options.minutes < 1e6 else " --keep"
        RESULT.parent.mkdir(parents=True, exist_ok=True)
        RESULT.write_text(
            json.dumps(
                {"what": "mutation check", "command": words, "date": f"{date.today()}", "figures": figures},
                indent=2,
            )
            + "\n"
        )


if __name__ == "__main__":
    sys.exit(main())
