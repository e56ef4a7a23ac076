"""Change one thing in an equation and see whether a test notices; print the share that was noticed.

    python tests/mutation/run.py                     all files, every mutant
    python tests/mutation/run.py --sample 500        a random sample over all files
    python tests/mutation/run.py sim/plant/uv.py     one file
    python tests/mutation/run.py --whole 3           three of every other file of `sim/`, by the tests that
                                                     run the line (`reach.py` records which); with --keep
                                                     counted in `rooms.csv`
    python tests/mutation/run.py --whole 30 sim/twin thirty of each file under a folder
    python tests/mutation/run.py --minutes 5         begin no more after five minutes; run again to go on
    python tests/mutation/run.py --keep              also write the figures for the evidence page

What was tried is kept in `.mutation/` and not tried again while all code that the tests run through stays as
it is, and with it the test that noticed or, for a survivor, all of its tests. Before a file is changed its
tests must pass in the same process, by the same way. A mutant counts as killed when a test fails, or when
its tests take fifteen times their processor time; both are counted apart. Survivors that no test can notice,
and why, stand in `survivors.csv`; they stay in the score.
"""

import argparse
import csv
import hashlib
import json
import multiprocessing
import os
import random
import sys
import time
from collections import Counter
from datetime import date
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from tests.mutation import rooms, trial, validity, whole  # noqa: E402
from tests.mutation.mutants import KEPT, TESTS, Mutant, made, mutants  # noqa: E402

SURVIVORS = Path(__file__).with_name("survivors.csv")
RESULT = ROOT / "tests" / "evidence" / "results" / "mutation.json"
TRIED = KEPT / "tried.jsonl"


def main() -> int:
    """Run what is asked for and print the score."""
    options = _options()
    os.chdir(ROOT)
    end = time.monotonic() + 60.0 * options.minutes
    if options.whole:
        return _whole(options, end)
    chosen = [mutant for file in options.files or TESTS for mutant in mutants(file)]
    everything = len(chosen)
    if options.sample and options.sample < everything:
        chosen = random.Random(options.seed).sample(chosen, options.sample)
    if options.again:
        lines = map(json.loads, TRIED.read_text(encoding="utf-8").splitlines())
        last = {one["name"]: one["result"] for one in lines}
        chosen = [mutant for mutant in chosen if last.get(mutant.name) == trial.SURVIVED]
    keys = {_key(mutant): mutant for mutant in chosen}
    problems = _try_missing(keys, options.workers, end)
    for problem in problems:
        print(problem, file=sys.stderr)
    _report(options, keys, everything)
    return 1 if problems else 0


def _whole(options: argparse.Namespace, end: float) -> int:
    """Try changes of all files but the equations of the map; print what came of them."""
    files, each, seed = whole.files(options.files), options.whole, options.seed
    compiled = [file for file in files if validity.holds_compiled(file)]
    rest = [file for file in files if file not in compiled]
    problems = whole.try_files(rest, each, seed, options.workers, end)
    equations = [made(file, place) for file in compiled for place in whole.chosen(file, each, seed)]
    keys = {_key(mutant): mutant for mutant in equations}
    problems += _try_missing(keys, options.workers, end)
    tried = [one for key, one in _tried().items() if key in keys]
    found = whole.counted([*whole.kept(), *tried], _reasons(), f"{date.today()}")
    if options.keep:
        rooms.keep(found)
    for problem in problems:
        print(problem, file=sys.stderr)
    print(f"{len(found)} of {len(files)} files tried")
    print(rooms.told(found))
    return 1 if problems else 0


def _try_missing(keys: dict[str, Mutant], workers: int, end: float) -> list[str]:
    """Try what was not tried yet, plain where it is compiled, and again compiled what only plain stops."""
    tried = _tried()
    missing = [mutant for key, mutant in keys.items() if key not in tried]
    beside = [mutant for mutant in missing if validity.is_beside(mutant.file)]
    problems = _try([mutant for mutant in missing if mutant not in beside], True, workers, end)
    problems += _try(beside, False, workers, end)
    only_plain = {key for key, one in _tried().items() if one["result"] == trial.ARITHMETIC}
    return problems + _try([one for key, one in keys.items() if key in only_plain], False, workers, end)


def _try(chosen: list[Mutant], plain: bool, workers: int, end: float) -> list[str]:
    """Try mutants file by file, each file in a process that has imported what stays as it is."""
    problems = []
    for file in dict.fromkeys(mutant.file for mutant in chosen):
        if time.monotonic() >= end:
            break
        mine = [mutant for mutant in chosen if mutant.file == file]
        context = multiprocessing.get_context("fork")
        receiver, sender = context.Pipe(duplex=False)
        process = context.Process(target=_serve, args=(file, mine, plain, workers, end, sender))
        began = time.monotonic()
        process.start()
        sender.close()
        try:
            problem = receiver.recv()
        except EOFError:
            problem = "its process ended early"
        process.join()
        if problem:
            problems.append(f"{file}: {problem}")
        words = "plain" if plain else "compiled"
        print(f"{file}: {words}, {time.monotonic() - began:.0f} s", file=sys.stderr, flush=True)
    return problems


def _serve(file, mine, plain, workers, end, sender) -> None:
    TRIED.parent.mkdir(exist_ok=True)
    with TRIED.open("a", encoding="utf-8") as kept:

        def note(mutant: Mutant, outcome: trial.Outcome) -> None:
            one = {
                "key": _key(mutant), "file": mutant.file, "line": mutant.line, "name": mutant.name,
                "plain": plain, **vars(outcome),
                "tests": validity.tests_of(file), "proof": validity.proof(file, outcome.test),
            }  # fmt: skip
            kept.write(json.dumps(one) + "\n")
            kept.flush()
            if outcome.result not in (trial.KILLED, trial.ARITHMETIC):
                print(
                    f"{outcome.result} {mutant.file}:{mutant.line}: {mutant.before}  ->  {mutant.after}",
                    flush=True,
                )

        trial.prepare(plain, kept=validity.is_beside(file))
        sender.send(trial.run_file(file, mine, plain, workers, end, note))


def _key(mutant: Mutant) -> str:
    return hashlib.sha256(f"{mutant.file} {mutant.code}".encode()).hexdigest()[:24]


def _tried() -> dict[str, dict]:
    """What was tried, the last word on each that still holds: by the test that noticed, or by all of them."""
    if not TRIED.exists():
        return {}
    lines = TRIED.read_text(encoding="utf-8").splitlines()
    return {one["key"]: one for one in map(json.loads, lines) if _holds(one)}


def _holds(one: dict) -> bool:
    if not (ROOT / one["file"]).exists() or one["result"] == trial.UNDECIDED:
        return False
    if one["result"] == trial.KILLED and one["test"] != "import":
        return one["proof"] == validity.proof(one["file"], one["test"])
    return one["tests"] == validity.tests_of(one["file"])


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Which changes to the equations does no test notice?")
    parser.add_argument(
        "files", nargs="*", default=[], help="of the equations; with --whole files or folders"
    )
    parser.add_argument("--whole", type=int, help="try this many of every other file")
    parser.add_argument("--sample", type=int, help="try this many, drawn at random")
    parser.add_argument("--again", action="store_true", help="try only what survived the last time")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--minutes", type=float, default=1e6, help="begin no more mutants after this long")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--keep", action="store_true", help="write the figures for the evidence page")
    return parser.parse_args()


def _reasons() -> dict[str, str]:
    with SURVIVORS.open(encoding="utf-8", newline="") as file:
        return {row["mutant"]: row["why"] for row in csv.DictReader(file)}


def _interval(killed: int, tried: int) -> str:
    """Return Wilson's 95 % interval of a share (Wilson 1927, J. Am. Stat. Assoc. 22:209)."""
    z2, share = rooms.NORMAL_95**2, killed / tried
    centre = (share + z2 / (2 * tried)) / (1 + z2 / tried)
    half = rooms.NORMAL_95 / (1 + z2 / tried) * (share * (1 - share) / tried + z2 / (4 * tried**2)) ** 0.5
    return f"{centre - half:.4f} to {centre + half:.4f}"


def _report(options: argparse.Namespace, keys: dict[str, Mutant], everything: int) -> None:
    tried = {key: one for key, one in _tried().items() if key in keys}
    ended = {
        key: one
        for key, one in tried.items()
        if one["result"] in (trial.KILLED, trial.TIMEOUT, trial.SURVIVED)
    }
    left = [one for one in ended.values() if one["result"] == trial.SURVIVED]
    reasons = _reasons()
    known = [one for one in left if one["name"] in reasons]
    killed, n = len(ended) - len(left), len(ended)
    slow = sum(one["result"] == trial.TIMEOUT for one in ended.values())
    by_error = sum(
        one["result"] == trial.KILLED
        and one["error"] not in ("AssertionError", "DocTestFailure", "MultipleDoctestFailures", "Failed")
        for one in ended.values()
    )
    print(f"{n} of {len(keys)} tried, of {everything}: killed {killed} ({killed / max(n, 1):.2%})")
    print(f"by the limit {slow}; by an error {by_error}; survivors {len(left)}, {len(known)} with a reason")
    wrong = [
        one["name"] for one in ended.values() if one["name"] in reasons and one["result"] != trial.SURVIVED
    ]
    for name in wrong:
        print(f"a reason is given, but it was killed: {name}")
    if not options.keep:
        return
    by_file = Counter(one["file"] for one in left)
    tables = [one for one in ended.values() if one["file"] != "sim/demand/profile.py"]
    figures = {
        "files": len({mutant.file for mutant in keys.values()}),
        "mutants": everything,
        "tried": n,
        "killed": killed,
        "share killed, all mutants counted": round(killed / n, 4),
        **({"95 % interval of the share": _interval(killed, n)} if n < everything else {}),
        "of the killed, by the limit of processor time": slow,
        "of the killed, by an error and not by a comparison": by_error,
        "tried again compiled": sum(not one["plain"] for one in ended.values()),
        "share killed without the tables of hourly use": round(
            1 - sum(one["result"] == trial.SURVIVED for one in tables) / len(tables), 4
        ),
        "survivors": len(left),
        "of them no test can notice, reasons in survivors.csv": len(known),
        "share killed of those a test could notice": round(killed / (n - len(known)), 4),
        "survivors by file": "; ".join(f"{file} {count}" for file, count in sorted(by_file.items()))
        or "none",
    }
    words = (
        "python tests/mutation/run.py" + (f" --sample {options.sample}" if options.sample else "") + " --keep"
    )
    what = "Changes of one thing in the equations and outcome measures, and whether a test notices."
    RESULT.parent.mkdir(parents=True, exist_ok=True)
    said = {"what": what, "command": words, "date": f"{date.today()}", "figures": figures}
    RESULT.write_text(json.dumps(said, indent=2) + "\n", encoding="utf-8")


if __name__ == "__main__":
    sys.exit(main())
