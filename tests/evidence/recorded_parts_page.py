"""The chapter "Recorded and simulated" of the page of evidence: cartridges, power cuts, lamps and pumps."""

from collections.abc import Callable

from tests.recorded.parts_measures import TABLES, measured
from tests.recorded.recorded_cases import Recorded, recorded, rows, verdict

Table = Callable[[tuple[str, ...], list[tuple[str, ...]]], str]
HEAD = ("quantity", "recorded", "data", "grade", "before, blind", "now", "verdict", "judged", "why")
EFFECT_HEAD = (
    "site",
    "figure, a year",
    "with all",
    "pumps add",
    "cuts add",
    "cartridges add",
    "rating adds",
    "all of it adds",
)
INTRO = """\
### Cartridges, power cuts, lamps and pumps

Sources, authors and licences stand in the heads of `tests/recorded/clogging.csv`, `power.csv` and
`parts.csv`. *Blind* was not looked at when numbers were set, *calibrated* was; *before* is the release of
2026-11-25, which had seen none of it. A row asks for four standard errors or states its gap. Of water
cartridges, of carbon blocks, of pressure or UV logs of a house, of failure times of pumps or lamps no record
was found: those stay unchecked, and the lives of pumps are what trade pages say."""
EFFECT_INTRO = """\
What it does to the answer, by `python -m tests.recorded.parts_effects`: the same weather, draws and chances
with and without; mean difference ± its standard error."""


def parts(table: Table) -> str:
    """Return the part on cartridges, power cuts, lamps and pumps."""
    cases = recorded(*TABLES)
    listed = table(HEAD, [_row(case, measured(case.key), cases) for case in cases])
    return f"{INTRO}\n\n{listed}\n\n{EFFECT_INTRO}\n\n{table(EFFECT_HEAD, _effects())}"


def _row(case: Recorded, ours: float, cases: list[Recorded]) -> tuple[str, ...]:
    error = f" ± {case.se}" if case.se else ""
    unit = "" if case.unit == "-" else f" {case.unit}"
    said = verdict(case, ours, cases)
    return (
        case.quantity, f"{case.recorded}{error}{unit}", f"{case.data}, {case.n}", case.grade, case.before,
        f"{ours:.3g}", said, case.judged, case.why,
    )  # fmt: skip


def _effects() -> list[tuple[str, ...]]:
    found: dict[tuple[str, str], list[str]] = {}
    for row in rows("parts_effects"):
        line = found.setdefault((row["site"], row["figure"]), [row["with all"]])
        line.append(f"{row['difference']} ± {row['se']}")
    return [(site, figure.replace("_", " "), *line) for (site, figure), line in found.items()]
