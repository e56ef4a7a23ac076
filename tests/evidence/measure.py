"""Run a long check, in pieces where asked, and keep what its tests recorded.

    python -m tests.evidence.measure                      which results there are, and which are of other code
    python -m tests.evidence.measure coverage             run what gives one of them, and keep it
    python -m tests.evidence.measure hostile --minutes 5 --at-once 2
                                                          two pieces at once, none begun after 5 minutes; the
                                                          same command goes on

The bars are held by the tests; here their figures (`record_property`) are only brought together. A result
says of which code it is, by the content of the files that decide it; `build` says where that has changed.
"""

import argparse
import hashlib
import json
import subprocess
import sys
import time
import xml.etree.ElementTree as ET
from collections import defaultdict
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path

from tests.evidence.source import code
from tests.second.apart import BARS

ROOT = Path(__file__).parents[2]
RESULTS = Path(__file__).with_name("results")
PIECES = Path(__file__).with_name("unfinished")
PHYSICS = tuple(
    f"sim/{place}*.py"
    for place in ("", *(f"{one}/**/" for one in ("scenario", "supply", "demand", "plant", "upkeep", "twin")))
)
SITES = ("scenarios/*.toml", "scenarios/rain/*.csv")
HOUSE = (*PHYSICS, "sim/outcome/measures.py", *SITES)


@dataclass(frozen=True)
class Test:
    """What one test left."""

    name: str
    held: bool
    figures: dict[str, str]


@dataclass(frozen=True)
class Long:
    """A long check: what pytest is given for each piece, what decides it, and how its figures are told."""

    what: str
    pieces: tuple[tuple[str, ...], ...]
    decided_by: tuple[str, ...]
    tell: Callable[[list[Test]], dict[str, str]]


def each(tests: list[Test]) -> dict[str, str]:
    """Return every figure of every test under its own name, or the test's where names meet."""
    names = [name for test in tests for name in test.figures]
    return {
        (name if names.count(name) == 1 else f"{test.name}: {name}"): value
        for test in tests
        for name, value in test.figures.items()
    }


def by_test(tests: list[Test]) -> dict[str, str]:
    """Return the figures of each test in one line."""
    return {
        test.name: ", ".join(f"{name} {value}" for name, value in test.figures.items())
        for test in tests
        if test.figures
    }


def sums(tests: list[Test]) -> dict[str, str]:
    """Return the sums of figures that are counts."""
    total: defaultdict[str, int] = defaultdict(int)
    for test in tests:
        for name, value in test.figures.items():
            total[name] += int(value)
    return {name: f"{count:,}" for name, count in total.items()}


def worst(tests: list[Test]) -> dict[str, str]:
    """Return the largest difference of each quantity between the two plants, beside what is allowed."""
    weeks = [test for test in tests if "week" in test.name]
    told = {"random houses of 7 days": str(len(weeks))}
    for bar in BARS:
        gaps = [float(test.figures[bar.name]) for test in weeks if bar.name in test.figures]
        missing = f", {len(weeks) - len(gaps)} houses left none" if len(gaps) < len(weeks) else ""
        told[bar.name] = f"{max(gaps):.2g} {bar.unit} ({bar.limit:g} allowed{missing})".replace("  ", " ")
    return told | each([test for test in tests if "week" not in test.name])


def chunks(nodes: Iterable[str], size: int) -> tuple[tuple[str, ...], ...]:
    """Return nodes in pieces of some size."""
    nodes = list(nodes)
    return tuple(tuple(nodes[at : at + size]) for at in range(0, len(nodes), size))


PARTS = ("__init__", "axes", "cartridges", "likelihood", "stage", "stage_ahead", "unnoted", "uv", "uv_losses")
DECIDING = (
    *(f"parts/{one}.py" for one in PARTS),
    *("weights.py", "infer.py", "evidence.py", "paths.py", "outlook.py"),
)
SECOND = "tests/second/test_second_plant.py::"
SITE = "tests/hostile/test_hostile_scenarios.py::"
LONG = {
    "differential": Long(
        "The plant against a second one, written with simpy and scipy and sharing no equation with it.",
        (
            *chunks((f"{SECOND}test_both_plants_live_the_same_week[{seed}]" for seed in range(1, 61)), 6),
            (f"{SECOND}test_the_cases_meet_what_the_plant_can_meet",),
        ),
        (
            *("sim/plant/*.py", "sim/twin/water/*.py", "sim/scenario/**/*.py"),
            "tests/second/*.py",
        ),
        worst,
    ),
    "convergence": Long(
        "Does a finer step change what is reported?",
        (("tests/theory/test_convergence.py",),),
        (*HOUSE, "tests/theory/test_convergence.py", "tests/accuracy.py", "tests/accuracy.csv"),
        each,
    ),
    "coverage": Long(
        "How often do 95 % intervals hold a truth that is known? 5,000 trials each.",
        (("tests/theory/test_coverage.py",),),
        ("sim/study/statistics/*.py", "tests/theory/test_coverage.py"),
        by_test,
    ),
    "stopping": Long(
        "Does stopping on the spread seen cost coverage? 5,000 trials each, and as many of a fixed number.",
        tuple(
            ("tests/theory/test_stopping_coverage.py", "-k", words)
            for words in (
                "many_trials and normal and (twenty or thirty)",
                "many_trials and sixty",
                "many_trials and together",
                "many_trials and (skewed and thirty or heavy)",
                "many_trials and skewed and (forty or other)",
                "many_trials and hundred",
                "many_trials and very",
            )
        ),
        (
            *(f"sim/study/statistics/{file}.py" for file in ("intervals", "stopped", "stopping")),
            "sim/study/runs/replicate.py",
            "tests/theory/test_stopping_coverage.py",
        ),
        by_test,
    ),
    "by_cause": Long(
        "How often do 95 % intervals of bad days, between policies too, of those people cause and of their "
        "share hold the mean of 240 kept runs? 400 draws of each policy and size, with repeats.",
        (("tests/theory/test_pool_of_causes.py", "-k", "400"),),
        (
            *("sim/study/statistics/*.py", "sim/study/compare/measures.py"),
            *("tests/theory/test_pool_of_causes.py", "tests/theory/pool_of_causes/*.csv"),
        ),
        by_test,
    ),
    "common_numbers": Long(
        "What is it worth that all policies meet the same weather, draws and failures?",
        (("tests/whole/test_common_numbers.py",),),
        (*HOUSE, "tests/whole/test_common_numbers.py"),
        each,
    ),
    "hand_over": Long(
        "Clogging, colour and alarm are brought up at midnight, when people come, and oftener where the "
        "alarm is near. What if every hour?",
        (("tests/whole/test_hand_over.py",),),
        (*HOUSE, "tests/whole/test_hand_over.py", "tests/accuracy.py", "tests/accuracy.csv"),
        each,
    ),
    "patterns": Long(
        "Patterns of a house on rain, all at once on the same runs of the demonstration house.",
        (("tests/whole/test_patterns.py",),),
        (*HOUSE, "tests/whole/test_patterns.py"),
        by_test,
    ),
    "diary": Long(
        "Planted houses put to the diary: cover of its ranges, closeness of its forecasts, misfits named.",
        (("tests/diary/test_planted.py",),),
        (
            *HOUSE,
            *(f"sim/diary/{one}" for one in (*DECIDING, "fit.py", "doubt.py", "parts/falls.py")),
            *(f"tests/diary/{one}.py" for one in ("misfits", "oracle", "planted", "test_planted", "trial")),
        ),
        by_test,
    ),
    "cover": Long(
        "Planted houses at a moment tied to nothing, of the site's own laws and of others: cover of ranges.",
        (("tests/diary/test_cover.py",),),
        (
            *(*PHYSICS, "scenarios/rain/*.csv", "scenarios/ranges.csv"),
            *(f"scenarios/{one}.toml" for one in ("base", "family_house", "procedures")),
            *(f"sim/diary/{one}" for one in DECIDING),
            *("tests/diary/cover.py", "tests/diary/planted.py"),
        ),
        by_test,
    ),
    "hostile": Long(
        "Damaged sites, records and command lines: a result, or one line that names the file.",
        (
            *chunks((f"{SITE}test_ten_thousand_damaged_sites[{part}]" for part in range(20)), 10),
            *((SITE[:-2], "-k", f"can_be_run and ({ids})") for ids in (
                "100 or 101 or 102", "103 or 104 or 105", "106 or 107", "108 or 109",
                "110 or 111", "112 or 113",
            )),
            *(("tests/hostile/test_hostile_series.py", "-k", f"thousand and ({ids})") for ids in (
                "0 or 1 or 2 or 3 or 4", "5 or 6 or 7 or 8 or 9",
            )),
            *(("tests/hostile/test_hostile_commands.py", "-k", f"thousand and ({ids})") for ids in (
                "0 or 1 or 2", "3 or 4 or 5", "6 or 7", "8 or 9",
            )),
        ),
        (*HOUSE, "sim/commands/*.py", "sim/study/**/*.py", "sim/outcome/*.py", "tests/hostile/*.py"),
        sums,
    ),
}  # fmt: skip
DECIDED_BY = {
    **{name: one.decided_by for name, one in LONG.items()},
    "tap_samples": (*HOUSE, "tests/recorded/tap_samples.py"),
    "uncertain": (
        *HOUSE,
        "scenarios/ranges.csv",
        "sim/scenario/values/variants.py",
        "sim/study/uncertain/robust.py",
    ),
}


@cache
def source(name: str) -> str:
    """Return what names the code that decides a result: 12 digits, the same after words alone changed."""
    digest = hashlib.sha256()
    assert all(any(ROOT.glob(pattern)) for pattern in DECIDED_BY[name]), f"{name} names a file that is gone"
    for file in sorted({file for pattern in DECIDED_BY[name] for file in ROOT.glob(pattern)}):
        digest.update(file.relative_to(ROOT).as_posix().encode() + code(file.read_text("utf-8"), file.suffix))
    return digest.hexdigest()[:12]


def command(name: str) -> str:
    """Return the command that measures a result."""
    return f"python -m tests.evidence.measure {name}"


def read(file: Path) -> list[Test]:
    """Return what the tests of a piece left."""
    return [
        Test(
            case.get("name", "").removeprefix("test_").replace("_", " "),
            case.find("failure") is None and case.find("error") is None,
            {one.get("name", ""): one.get("value", "") for one in case.iter("property")},
        )
        for case in ET.parse(file).iter("testcase")
    ]


def report_of(name: str, number: int) -> Path:
    """Return where the report of a piece stands once it was run on this code."""
    return PIECES / f"{name}-{source(name)}-{number}.xml"


def piece(name: str, number: int, given: tuple[str, ...]) -> Path:
    """Run one piece unless it was run on this code; return its report."""
    file = report_of(name, number)
    if not file.exists():
        PIECES.mkdir(exist_ok=True)
        draft = file.with_suffix(".part")
        line = [sys.executable, "-m", "pytest", "--long", "-p", "no:cacheprovider", "--tb=short"]
        line += ["-o", "junit_family=xunit1"]
        code = subprocess.run([*line, f"--junitxml={draft}", *given], cwd=ROOT, check=False).returncode
        if code not in {0, 1} or not draft.exists() or not read(draft):  # else it was cut off
            raise SystemExit(f"{name}, piece {number}: pytest ended with {code}")
        draft.rename(file)
    return file


def measure(name: str, minutes: float, at_once: int) -> bool:
    """Run the pieces of a result that are missing; keep the result once there is none."""
    one, end = LONG[name], time.monotonic() + 60.0 * minutes

    def in_time(number: int, given: tuple[str, ...]) -> Path | None:
        there = report_of(name, number).exists()
        return piece(name, number, given) if there or time.monotonic() < end else None

    with ThreadPoolExecutor(at_once) as pool:
        reports = list(pool.map(in_time, range(len(one.pieces)), one.pieces))
    there = [report for report in reports if report is not None]
    if len(there) < len(reports):
        print(f"{name}: {len(there)} of {len(reports)} pieces are there; the same command goes on")
        return False
    tests = [test for report in there for test in read(report)]
    keep(name, one.what, command(name), one.tell(tests), tests)
    return True


def keep(name: str, what: str, how: str, figures: dict[str, object], tests: Iterable[Test] = ()) -> None:
    """Write a result with its day and its code."""
    result = {
        "what": what,
        "command": how,
        "date": date.today().isoformat(),
        "code": source(name),
        "checks": len(list(tests)),
        "failed": [test.name for test in tests if not test.held],
        "figures": figures,
    }
    RESULTS.mkdir(exist_ok=True)
    text = json.dumps(result, indent=2, ensure_ascii=False) + "\n"
    (RESULTS / f"{name}.json").write_text(text, encoding="utf-8")
    print(text)


def of_this_code(name: str, result: dict) -> bool | None:
    """Return whether a result is of the code that is here; None where it does not say."""
    return result["code"] == source(name) if "code" in result and name in DECIDED_BY else None


def main() -> None:
    """Measure what is asked for, or list what there is."""
    parser = argparse.ArgumentParser(prog="python -m tests.evidence.measure")
    parser.add_argument("name", nargs="?", choices=LONG)
    parser.add_argument("--minutes", type=float, default=float("inf"), help="begin no piece after that")
    parser.add_argument("--at-once", type=int, default=1, help="pieces run side by side")
    given = parser.parse_args()
    if given.name:
        raise SystemExit(0 if measure(given.name, given.minutes, given.at_once) else 75)
    for name in DECIDED_BY:
        file = RESULTS / f"{name}.json"
        result = json.loads(file.read_text("utf-8")) if file.exists() else None
        state = "not yet run" if result is None else result["date"]
        print(f"{name:16}{state}{'' if result is None or of_this_code(name, result) else ', of other code'}")


if __name__ == "__main__":
    main()
