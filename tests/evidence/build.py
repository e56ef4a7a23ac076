"""Write tests/EVIDENCE.md from data, published cases and long runs: `python -m tests.evidence.build`.

Same data, same page: no clock, no name of a machine. Numbers of ours are shown to six digits.
"""

import csv
import json
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from pydantic import BaseModel
from pydantic_core import PydanticUndefined

from sim.outcome import measures
from sim.scenario.read.load import load_text
from sim.scenario.scenario import Scenario
from sim.scenario.values import ranges
from sim.scenario.values.grades import Graded, base_grades
from sim.scenario.values.numbers import kind_of, numbers
from sim.scenario.values.variants import spans
from sim.twin import run as twin
from tests.evidence import glance, recorded_page, recorded_parts_page, recorded_rain_page
from tests.published.published_cases import ASIDE, OUTSIDE, Case, cases

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
PAGE = HERE.parent / "EVIDENCE.md"
ACCURACY = HERE.parent / "accuracy.csv"
RESULTS = HERE / "results"
COMMAND = "python -m tests.evidence.build"
OUTSIDE_WANTED, SEEN_WANTED = 200, 120  # of functions of the product; of grade S
WORDS = ("rain.climate", "rain.years", "cistern.calmed_inlet", "uv.shutoff_valve", "uv.rated_at")


def page() -> str:
    """Return the whole page."""
    parts = [hand("intro"), at_a_glance(), hand("ceiling"), accuracy(), defaults(), published()]
    parts += [recorded(), long_runs()]
    parts += [hand("stress_des"), hand("self_score"), hand("limits")]
    return "\n\n".join(part.strip() for part in parts) + "\n"


def hand(name: str) -> str:
    """Return a part that was written by hand."""
    return (HERE / f"{name}.md").read_text(encoding="utf-8")


def at_a_glance() -> str:
    """Return each check in one line: what is asked, what was found, whether it holds."""
    outside = [case for case in cases() if case.grade in OUTSIDE]
    assert all(case.differs or case.agrees(case.actual()) for case in outside)
    seen = sum(case.grade == "S" for case in outside)
    differ = sum(bool(case.differs) for case in outside)
    enough = len(outside) >= OUTSIDE_WANTED and seen >= SEEN_WANTED
    rows = [
        (
            "published",
            f"{OUTSIDE_WANTED} or more numbers from outside for functions of the product, "
            f"{SEEN_WANTED} or more read in their source",
            f"{len(outside)} from outside, {seen} read in their source, "
            f"{sum(case.grade == 'M' for case in outside)} of them from memory; {differ} differ and say why",
            "holds" if enough else "**does not hold**: too few",
        )
    ]
    results = kept_results()
    for name, asked in glance.ASKED.items():
        result = results.get(name)
        rows.append((spoken(name), asked, glance.found(name, result), glance.verdict(name, result)))
    return table(("check", "asked", "found", "verdict"), rows)


def kept_results() -> dict[str, dict]:
    """Return what the long runs left, by name."""
    return {
        path.stem: json.loads(path.read_text(encoding="utf-8")) for path in sorted(RESULTS.glob("*.json"))
    }


def spoken(name: str) -> str:
    """Return the name of a result as words."""
    return name.replace("_", " ")


def table(headings: tuple[str, ...], rows: list[tuple[str, ...]]) -> str:
    """Return a Markdown table."""
    lines = [headings, tuple("---" for _ in headings), *rows]
    return "\n".join("| " + " | ".join(cell.replace("|", "\\|") for cell in line) + " |" for line in lines)


def folded(summary: str, inside: str) -> str:
    """Return a part that opens on a click."""
    return f"<details>\n<summary>{summary}</summary>\n\n{inside}\n\n</details>"


# --- accuracy ---
def figures() -> list[str]:
    """Return the names of all figures of a run that are numbers."""
    base = base_site()
    row = measures.row(twin.run(base, base.policies[-1], twin.common_inputs(base, 0, 1, 1)))
    return [name for name, value in row.items() if not isinstance(value, str)]


def base_site() -> Scenario:
    """Return the site that all built-in ones start from."""
    return load_text('extends = "base"', "base")


def accuracy() -> str:
    """Return the accuracy aimed at, as it was written before measuring."""
    title = "## Accuracy aimed at\n\n"
    if not ACCURACY.exists():
        return title + "Not yet stated."
    with ACCURACY.open(encoding="utf-8", newline="") as lines:
        stated = list(csv.DictReader(lines))
    rows = [(one["column"], allowed(one), one["why"]) for one in stated]
    names = {one["column"] for one in stated}
    missing = [name for name in figures() if name not in names]
    said = f"\n\nNo accuracy is stated for: {', '.join(missing)}." if missing else ""
    intro = (
        "For each figure of a run, written down before it was measured (`tests/accuracy.csv`): the larger of "
        "the two where two are given. It is how far arithmetic may move a figure; chance "
        "has its own intervals.\n\n"
    )
    return title + intro + table(("figure", "within", "why"), rows) + said


def allowed(one: dict[str, str]) -> str:
    """Return an accuracy in words."""
    parts = []
    if float(one["absolute"]):
        unit = one["unit"].replace("1/yr", "a year").replace("/yr", " a year")
        parts.append(f"{one['absolute']} {unit}".strip())
    if float(one["relative"]):
        parts.append(f"{100 * float(one['relative']):g} %")
    return " or ".join(parts) or "exact"


# --- defaults ---
def defaults() -> str:
    """Return every default with its range, grade and source."""
    base, graded = base_site(), base_grades()
    kinds = {number.key: number.kind_key for number in numbers(base)}
    uncertain = {span.key for span in spans(base)}
    site, rules = [], []
    for key, one in graded.items():
        if key not in kinds and bare(key) not in WORDS:
            continue
        (rules if key.startswith("policy") else site).append(
            default_row(one, kinds.get(key, bare(key)), uncertain)
        )
    counts = Counter(row[4] for row in (*site, *rules) if row[4])
    tally = "; ".join(f"{grade}: {count}" for grade, count in counts.most_common())
    head = ("input", "value", "believed from, to", "role", "grade", "source or comment", "range rests on")
    intro = (
        f"{len(site) + len(rules)} values of `scenarios/base.toml`, which every site starts from, by grade: "
        f"{tally}. Outside the range a result is marked extrapolated (`scenarios/ranges.csv`). Of them, "
        f"{len(uncertain)} are drawn by `compare --uncertain`, marked ~. Roles: *known* "
        "is read off the site or "
        "a data sheet, *choice* is decided, *price* is money, *uncertain* was measured by nobody.\n\n"
    )
    return (
        "## Every default\n\n"
        + intro
        + folded(f"{len(site)} values of the site, its train, house and people", table(head, site))
        + "\n\n"
        + folded(f"{len(rules)} values of the policies", table(head, rules))
        + "\n\n"
        + folded("What a model takes when no file says it", table(("input", "value"), list(fallbacks())))
    )


def bare(key: str) -> str:
    """Return a key without the names of entries."""
    return ".".join(step.partition("[")[0] for step in key.split("."))


def default_row(one: Graded, kind_key: str, uncertain: set[str]) -> tuple[str, ...]:
    """Return one default as a row."""
    found = ranges.ranges().get(kind_key)
    if found is None:
        believed, role, why = "any of its words", "choice", ""
    else:
        believed = f"{found.low_text}, {found.high_text}" if found.low_text else "any of its words"
        role, why = found.role, f"{found.why} [{found.grade}]"
    drawn = f" ~ {found.spread}" if found and one.key in uncertain else ""
    return (one.key, one.value.strip('"'), believed, role + drawn, one.grade, one.comment, why)


def fallbacks(model: type[BaseModel] = Scenario, path: str = "") -> Iterator[tuple[str, str]]:
    """Yield the numbers that a model takes when no file states them."""
    for name, field in model.model_fields.items():
        key = f"{path}.{field.alias or name}".lstrip(".")
        kinds = (field.annotation, *getattr(field.annotation, "__args__", ()))
        inner = next((k for k in kinds if isinstance(k, type) and issubclass(k, BaseModel)), None)
        if inner is not None:
            yield from fallbacks(inner, key)
        elif field.default not in (PydanticUndefined, None) and (kind_of(field) or {float, int} & set(kinds)):
            yield key, str(field.default)


# --- published cases ---
def published() -> str:
    """Return every published case with what ours gives."""
    by_subject: dict[str, list[Case]] = {}
    for case in cases():
        by_subject.setdefault(case.subject, []).append(case)
    rows, details = [], []
    for subject, found in by_subject.items():
        judged = [(case, case.actual()) for case in found]
        differ = [case for case, _ in judged if case.differs]
        closest = max(case.error(actual) / case.allowed for case, actual in judged if not case.differs)
        rows.append(
            (subject, str(len(found)), str(len(found) - len(differ)), str(len(differ)), f"{closest:.2f}")
        )
        listed = [case_row(case, actual) for case, actual in judged]
        head = ("case", "inputs", "published", "ours", "within", "verdict", "grade", "source")
        details.append(folded(f"{subject}: {len(found)} cases", table(head, listed)))
    origins = Counter(case.origin for found in by_subject.values() for case in found)
    came = "; ".join(f"{origin} {count}" for origin, count in origins.most_common())
    intro = (
        f"{origins.total()} cases in `tests/published/cases/`, run by `tests/published/test_cases.py`, "
        "each of a function that the shell or the pages lead to, as a test reads from the source "
        f"(`tests/published/used.py`). Where their numbers came from: {came}. Only a number from outside "
        "can find a formula that was read wrongly; one of ours finds a formula that was typed wrongly. "
        f"{len(cases(ASIDE))} more, of functions that only tests call, stand in "
        "`tests/published/aside/`, are run and counted nowhere. The tolerance is half the last printed "
        "digit unless the case gives another with its reason; the last column is the largest error over "
        "its tolerance, of those that agree. Checks that are no single number stand in the other files "
        "of `tests/published/` and in `tests/theory/`.\n\n"
    )
    head = ("subject", "cases", "agree", "differ, and say why", "largest error over tolerance")
    return "## Published checks\n\n" + intro + table(head, rows) + "\n\n" + "\n\n".join(details)


def case_row(case: Case, actual: np.ndarray) -> tuple[str, ...]:
    """Return one case as a row."""
    if case.differs:
        verdict = f"**differs**: {case.differs}"
    else:
        verdict = "agrees" if case.agrees(actual) else "**fails**"
    reason = "" if not case.tolerance else f": {case.reason}"
    source = f"{case.source}; {case.place}" if case.place else case.source
    ours = " ".join(f"{value:.6g}" for value in actual)
    within = f"{case.allowed:.3g}{reason}"
    return (
        case.case, case.inputs, f"{case.expected} {case.unit}", ours, within, verdict, case.grade, source,
    )  # fmt: skip


# --- recorded ---
def recorded() -> str:
    """Return what was recorded in houses beside what is simulated."""
    intro = (
        "What others recorded, reduced to figures, beside ours: parts are held against records, the whole "
        "house on rain is not, as no record of one was found."
    )
    found = (recorded_page.draws(table), recorded_rain_page.rain(table), recorded_parts_page.parts(table))
    return "\n\n".join(["## Recorded and simulated", intro, *found])


# --- long runs ---
def long_runs() -> str:
    """Return what the long runs left in their files, and which have not been run."""
    found = kept_results()
    parts = [
        "## Long runs\n\nEach is run by its own command, which leaves its figures in "
        "`tests/evidence/results/`; the date is that of the run, the digest names the code that decides it."
    ]
    for name in [*glance.ASKED, *(name for name in found if name not in glance.ASKED)]:
        bar = f"Asked: {glance.ASKED[name]}.\n\n" if name in glance.ASKED else ""
        said = run_said(name, found.get(name))
        parts.append(f"### {spoken(name).capitalize()}\n\n{bar}{said}")
    return "\n\n".join(parts)


def run_said(name: str, result: dict | None) -> str:
    """Return what one long run left."""
    if result is None:
        return "Not yet run."
    rows = [(str(key).replace("_", " "), figure(value)) for key, value in result["figures"].items()]
    head = f"{result['what']} `{result['command']}`, {result['date']}"
    head += f", code {result['code']}" if "code" in result else ""
    failed = "".join(f"\n- failed: {one}" for one in result.get("failed", ()))
    failed += glance.told_apart(name) + glance.rooms_told(name)
    verdict = glance.verdict(name, result) if name in glance.ASKED else "no bar"
    return f"{head}. Verdict: {verdict}.{failed}\n\n" + table(("figure", "value"), rows)


def figure(value: object) -> str:
    """Return a figure as text."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    return f"{value:.6g}" if isinstance(value, float) else str(value)


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
    print(f"{PAGE.relative_to(ROOT)} written")
