"""A few changes of every file of `sim/` that holds nothing compiled, tried by the tests that run the line.

Compiled code is found where it is kept: a change of a number that it has taken in is noticed only where plain
Python uses it too. That counts against the tests.
"""

import gc
import hashlib
import json
import multiprocessing
import random
import sys
import time
from collections.abc import Iterable
from functools import cache

from tests.mutation import rooms, trial
from tests.mutation.choose import recorded, tests_for
from tests.mutation.mutants import KEPT, ROOT, TESTS, Mutant, Place, made, places, unchanged
from tests.mutation.validity import module_of, modules, reaching

TRIED = KEPT / "whole.jsonl"
LIMIT_TIMES = 5.0  # of what the tests took when recorded, and they were slowed by that
NO_TEST = "no test runs it"


def chosen(file: str, each: int, seed: int) -> list[Place]:
    """Draw places of a file at random, the same for the same seed; a larger draw holds a smaller."""
    found = places(file)
    random.Random(f"{seed} {file}").shuffle(found)
    return found[:each]


def try_files(files: Iterable[str], each: int, seed: int, workers: int, end: float) -> list[str]:
    """Try changes of files, so many files at once; return what went wrong."""
    context = multiprocessing.get_context("fork")
    trial.prepare(plain=False, kept=True)  # once: the processes of all files are forks of this one
    recorded()
    done, waiting = {one["key"] for one in kept()}, list(files)
    running: list[tuple[str, multiprocessing.Process]] = []
    problems = []
    while waiting or running:
        while waiting and len(running) < workers and time.monotonic() < end:
            file = waiting.pop(0)
            new = [place for place in chosen(file, each, seed) if key(file, place) not in done]
            if new:
                process = context.Process(target=_serve, args=(file, new, end))
                process.start()
                running.append((file, process))
        if not running:
            break
        time.sleep(0.05)
        for file, process in list(running):
            if not process.is_alive():
                running.remove((file, process))
                problems += [f"{file}: its process ended with {process.exitcode}"] if process.exitcode else []
    return problems


def _serve(file: str, new: list[Place], end: float) -> None:
    for name in sorted(set(modules()) - reaching(module_of(ROOT / file))):
        __import__(name)
    assert module_of(ROOT / file) not in sys.modules, "imported before it could be changed"
    gc.collect()
    gc.freeze()  # so that children do not copy what they never change
    for place in new:
        if time.monotonic() >= end:
            return
        mutant = made(file, place)
        outcome, tests = _tried(mutant)
        said = {"key": key(file, place), "file": file, "line": mutant.line, "name": mutant.name}
        with TRIED.open("a", encoding="utf-8") as out:
            out.write(json.dumps({**said, **vars(outcome), "tests": tests}) + "\n")
        if outcome.result not in {trial.KILLED, trial.TIMEOUT}:
            print(f"{outcome.result} {file}:{mutant.line}: {mutant.before}  ->  {mutant.after}", flush=True)


def _tried(mutant: Mutant) -> tuple[trial.Outcome, list[str]]:
    """Run the tests of a line on its change; one that fails without the change too has no say."""
    tests = tests_for(mutant.file, mutant.line)
    cpu_s = recorded().cpu_s
    while tests:
        limit_s = max(trial.LEAST_LIMIT_S, LIMIT_TIMES * sum(cpu_s[test] for test in tests))
        outcome = _ended(trial.start(mutant, tests, limit_s))
        if outcome.result != trial.KILLED or outcome.test not in tests or _passes(mutant.file, outcome.test):
            return outcome, tests
        tests.remove(outcome.test)
    return trial.Outcome(trial.SURVIVED, error=NO_TEST), tests


@cache
def _passes(file: str, test: str) -> bool:
    """Return whether a test passes, run in the same way, where nothing is changed."""
    outcome = _ended(trial.start(unchanged(file), [test], 10 * trial.LONGEST_WAIT_S))
    return outcome.result == trial.SURVIVED


def _ended(job: tuple[int, str, float]) -> trial.Outcome:
    """Wait for a job, and end one that waits for ever."""
    while (outcome := trial.finish(job, wait=False)) is None:
        time.sleep(0.01)
    return outcome


@cache
def state() -> str:
    """Digest all code and tests: what came of a change holds for these alone."""
    digest = hashlib.sha256()
    for path in sorted(path for room in ("sim", "tests") for path in (ROOT / room).rglob("*.py")):
        digest.update(path.relative_to(ROOT).as_posix().encode() + path.read_bytes())
    return digest.hexdigest()[:24]


def key(file: str, place: Place) -> str:
    """Name a change in this state of code and tests."""
    return f"{state()} {file} {place.operator} {place.nth}"


def kept() -> list[dict]:
    """Return what was tried in this state of code and tests."""
    if not TRIED.exists():
        return []
    lines = map(json.loads, TRIED.read_text(encoding="utf-8").splitlines())
    return list({one["key"]: one for one in lines if one["key"].startswith(state())}.values())


def counted(tried: list[dict], reasons: dict[str, str], today: str) -> list[rooms.Tried]:
    """Count what came of the changes of each file."""
    found = []
    ended = [one for one in tried if one["result"] in (trial.KILLED, trial.TIMEOUT, trial.SURVIVED)]
    for file in sorted({one["file"] for one in ended}):
        mine = [one for one in ended if one["file"] == file]
        left = [one for one in mine if one["result"] == trial.SURVIVED]
        known = sum(one["name"] in reasons for one in left)
        counts = (len(places(file)), len(mine), len(mine) - len(left), known)
        found.append(rooms.Tried(file, rooms.digest(file), *counts, today))
    return found


def files(under: Iterable[str]) -> list[str]:
    """Name the files to be tried: all of `sim/` but the equations, or those under some folders, shuffled.

    Where time runs out, those that were tried are as good a sample of all as any.
    """
    found = [path.relative_to(ROOT).as_posix() for path in sorted((ROOT / "sim").rglob("*.py"))]
    wanted = tuple(under) or ("sim/",)
    found = [file for file in found if file not in TESTS and file.startswith(wanted) and places(file)]
    random.Random(1).shuffle(found)
    return found
