"""Rows of the chapter "Recorded and simulated": quantities beside ours, and what they do to the answer."""

from collections.abc import Callable

from tests.recorded.recorded_cases import Recorded, rows, verdict

Table = Callable[[tuple[str, ...], list[tuple[str, ...]]], str]
HEAD = ("quantity", "recorded", "data", "grade", "before, blind", "now", "verdict", "judged", "why")


def quantities(cases: list[Recorded], measured: Callable[[str], float]) -> list[tuple[str, ...]]:
    """Return a row for each recorded quantity."""
    return [_row(case, measured(case.key), cases) for case in cases]


def _row(case: Recorded, ours: float, cases: list[Recorded]) -> tuple[str, ...]:
    error = f" ± {case.se}" if case.se else ""
    unit = "" if case.unit == "-" else f" {case.unit}"
    said = verdict(case, ours, cases)
    return (
        case.quantity, f"{case.recorded}{error}{unit}", f"{case.data}, {case.n}", case.grade, case.before,
        f"{ours:.3g}", said, case.judged, case.why,
    )  # fmt: skip


def effects(name: str) -> list[tuple[str, ...]]:
    """Return a row for each site and figure of a table of effects."""
    found: dict[tuple[str, str], list[str]] = {}
    for row in rows(name):
        line = found.setdefault((row["site"], row["figure"]), [row["with all"]])
        line.append(f"{row['difference']} ± {row['se']}")
    return [(site, figure.replace("_", " "), *line) for (site, figure), line in found.items()]
