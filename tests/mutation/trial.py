"""Run the tests of a file on one mutant, in a fork, and say what came of it.

Equations run as plain Python: what is compiled is the same source, and no compiled code of an earlier state
can stand in for a change. Where plain Python stops with an error and compiled code goes on with infinity or
nan, the tests go on too, until one fails of itself; a mutant that only such errors stop is tried again
compiled.
"""

import gc
import importlib
import json
import os
import resource
import signal
import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass
from importlib.abc import Loader, MetaPathFinder
from importlib.machinery import ModuleSpec
from importlib.util import spec_from_loader
from pathlib import Path
from types import CodeType, FunctionType, ModuleType, TracebackType

import numpy as np

from tests.mutation.mutants import NOT_HERE, ROOT, Mutant, stages, unchanged
from tests.mutation.validity import module_of, modules, needs_conftest, reaching

SURVIVED, KILLED, TIMEOUT, ARITHMETIC, UNDECIDED = "survived", "killed", "timeout", "arithmetic", "undecided"
LEAST_LIMIT_S = 20.0  # of processor time, so that a busy machine stops nothing
TIMES_BASELINE = 15.0
LONGEST_WAIT_S = 600.0
# What plain Python raises where compiled code goes on.
PLAIN_ONLY = {
    *("ZeroDivisionError", "OverflowError", "ValueError", "TypeError", "RuntimeWarning", "IndexError"),
}
RECORDS = ("sim.plant.state", "sim.plant.draws")
COMPILED: set[CodeType] = set()  # of the functions that would be compiled
HEAVY = (
    *(
        "pytest",
        "hypothesis",
        "hypothesis.strategies",
        "numpy",
        "pandas",
        "scipy.integrate",
        "scipy.optimize",
    ),
    *("scipy.stats", "scipy.ndimage", "fluids", "iapws", "pint", "pydantic", "simpy", "_pytest.doctest"),
    *("numba", "numba.core.typing.templates", "numba.np.arrayobj", "plotly.graph_objects", "plotly.subplots"),
    *("jinja2", "rich.console", "rich.table", "pyarrow.parquet", "icalendar"),
)


@dataclass(frozen=True)
class Outcome:
    """What came of one mutant: how it ended, by which test, with what error, at what cost."""

    result: str
    test: str = ""
    error: str = ""
    cpu_s: float = 0.0


class Mutated(MetaPathFinder, Loader):
    """Gives the mutated source when its module is imported."""

    def __init__(self, mutant: Mutant):
        self.mutant = mutant

    def find_spec(self, fullname: str, path: object = None, target: object = None) -> ModuleSpec | None:
        if fullname != module_of(ROOT / self.mutant.file):
            return None
        return spec_from_loader(fullname, self, origin=str(ROOT / self.mutant.file))

    def exec_module(self, module: ModuleType) -> None:
        module.__file__ = str(ROOT / self.mutant.file)
        exec(compile(self.mutant.code, module.__file__, "exec"), module.__dict__)


class Watch:
    """Notes the first failure and ends the tests, but for errors that only plain Python raises."""

    def __init__(self) -> None:
        self.found, self.excused = None, None

    def pytest_exception_interact(self, node, call):
        value = call.excinfo.value
        # A doctest that met an exception wraps it.
        kind, _, trace = getattr(value, "exc_info", None) or (type(value), value, value.__traceback__)
        if only_plain(kind, trace):
            self.excused = self.excused or (node.nodeid, kind.__name__)
            return
        self.found = (node.nodeid, kind.__name__)
        node.session.shouldstop = "noticed"


def only_plain(kind: type[BaseException], trace: TracebackType | None) -> bool:
    """Return whether compiled code would have gone on: the error rose in a function that is compiled."""
    while trace is not None and trace.tb_next is not None:
        trace = trace.tb_next
    return kind.__name__ in PLAIN_ONLY and trace is not None and trace.tb_frame.f_code in COMPILED


def prepare(plain: bool, kept: bool) -> None:
    """Import once what every child needs, the compiler standing aside or at least keeping nothing.

    Where what is changed is beside all that is compiled, compiled code is `kept` and found again.
    """
    if kept and not plain:
        for name in HEAVY:
            importlib.import_module(name)
        return
    import numba  # noqa: PLC0415

    compiler = numba.njit

    def stand_in(*args: object, **more: object) -> object:
        if not plain:
            return compiler(*args, **{**more, "cache": False})

        def keep(function: FunctionType) -> object:
            function.py_func = function  # type: ignore[attr-defined]
            COMPILED.add(function.__code__)
            return function

        return keep(args[0]) if args and callable(args[0]) else keep

    numba.njit = stand_in
    for name in HEAVY:
        importlib.import_module(name)


def preload(file: str, plain: bool) -> None:
    """Import what the tests need and a change of this file cannot reach."""
    apart = set(modules()) - reaching(module_of(ROOT / file))
    for name in (*RECORDS, *sorted(apart)):
        if name.count(".") > 1 and name.split(".")[1] in (
            "scenario",
            "supply",
            "demand",
            "plant",
            "upkeep",
            "twin",
            "outcome",
            "units",
        ):
            importlib.import_module(name)
    for name in RECORDS if plain else ():
        module = importlib.import_module(name)
        for key, kind in vars(module).items():
            if isinstance(kind, np.dtype) and kind.names:  # fields as attributes, as compiled code has them
                setattr(module, key, np.dtype((np.record, kind)))


def run_file(
    file: str, chosen: Iterable[Mutant], plain: bool, workers: int, end: float, note: Callable
) -> str:
    """Try mutants of a file, the unchanged file first; return what went wrong, empty if nothing did."""
    if module_of(ROOT / file) in sys.modules:  # its changes would never be imported, and all survive
        return "it was imported before it could be changed"
    preload(file, plain)
    gc.collect()
    gc.freeze()  # so that children do not copy what they never change
    base = []
    for tests in stages(file):
        outcome = finish(start(unchanged(file), tests, 10 * LONGEST_WAIT_S))
        if outcome.result != SURVIVED:
            return f"its tests fail without any change: {outcome.result} {outcome.test} {outcome.error}"
        base.append(outcome.cpu_s)
    limits = [max(LEAST_LIMIT_S, TIMES_BASELINE * cpu_s) for cpu_s in base]
    waiting, running = list(reversed(list(chosen))), []
    while waiting or running:
        while waiting and len(running) < workers and time.monotonic() < end:
            mutant = waiting.pop()
            running.append((mutant, 0, 0.0, None, start(mutant, stages(file)[0], limits[0])))
        if not running:
            break
        time.sleep(0.01)
        for entry in list(running):
            mutant, stage, cpu_s, excused, job = entry
            outcome = finish(job, wait=False)
            if outcome is None:
                continue
            running.remove(entry)
            cpu_s += outcome.cpu_s
            goes_on = outcome.result in (SURVIVED, ARITHMETIC) and stage + 1 < len(limits)
            excused = excused or (outcome if outcome.result == ARITHMETIC else None)
            if goes_on:
                job = start(mutant, stages(file)[stage + 1], limits[stage + 1])
                running.append((mutant, stage + 1, cpu_s, excused, job))
                continue
            last = excused if excused and outcome.result == SURVIVED else outcome
            note(mutant, Outcome(last.result, last.test, last.error, round(cpu_s, 2)))
    return ""


def start(mutant: Mutant, tests: list[str], limit_s: float) -> tuple[int, str, float]:
    handle, path = tempfile.mkstemp(prefix="mutant")
    os.close(handle)
    child = os.fork()
    if child == 0:
        resource.setrlimit(resource.RLIMIT_CPU, (int(limit_s) + 1, int(limit_s) + 1))
        _child(mutant, tests, path)
    return child, path, time.monotonic() + LONGEST_WAIT_S


def finish(job: tuple[int, str, float], wait: bool = True) -> Outcome | None:
    child, path, end = job
    done, status, used = os.wait4(child, 0 if wait else os.WNOHANG)
    if not done:
        if time.monotonic() < end:
            return None
        os.kill(child, signal.SIGKILL)
        os.wait4(child, 0)
        Path(path).unlink()
        return Outcome(UNDECIDED, error=f"no end within {LONGEST_WAIT_S:g} s")
    said = Path(path).read_text(encoding="utf-8")
    Path(path).unlink()
    cpu_s = used.ru_utime + used.ru_stime
    if said:
        return Outcome(**{**json.loads(said), "cpu_s": cpu_s})
    ended = -os.waitstatus_to_exitcode(status)
    over = ended in (signal.SIGXCPU, signal.SIGKILL)
    return Outcome(TIMEOUT if over else UNDECIDED, error=f"ended by signal {ended}", cpu_s=cpu_s)


def _child(mutant: Mutant, tests: list[str], path: str) -> None:
    import hypothesis  # noqa: PLC0415
    import pytest  # noqa: PLC0415

    log = os.environ.get("MUTATION_LOG", os.devnull)
    target = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
    os.dup2(target, 1)
    os.dup2(target, 2)
    phases = (hypothesis.Phase.explicit, hypothesis.Phase.generate)
    hypothesis.settings.register_profile(
        "mutation", deadline=None, database=None, derandomize=True, phases=phases
    )
    hypothesis.settings.load_profile("mutation")
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
    words = ["-p", "no:cacheprovider", "-p", "no:unraisableexception", "--assert=plain", "--tb=short"]
    if not any("::" in test for test in tests) and not needs_conftest(tests):  # it imports the whole twin
        words += ["--noconftest", "-m", "not long"]
    words += ["-W", "ignore::pytest.PytestAssertRewriteWarning", *(f"--deselect={name}" for name in NOT_HERE)]
    watch = Watch()
    try:
        sys.meta_path.insert(0, Mutated(mutant))
        importlib.import_module(
            module_of(ROOT / mutant.file)
        )  # before pytest does, which would read the file itself
        code = int(pytest.main([*words, *tests], plugins=[watch]))
        if watch.found:
            outcome = Outcome(KILLED, *watch.found)
        elif watch.excused:
            outcome = Outcome(ARITHMETIC, *watch.excused)
        else:
            outcome = Outcome(SURVIVED if code == 0 else UNDECIDED, error="" if code == 0 else f"exit {code}")
    except BaseException as error:
        outcome = Outcome(KILLED, "import", type(error).__name__)
    Path(path).write_text(json.dumps(asdict(outcome)), encoding="utf-8")
    os._exit(0)
