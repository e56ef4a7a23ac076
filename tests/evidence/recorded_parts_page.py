"""The chapter "Recorded and simulated" of the page of evidence: cartridges, power cuts, lamps and pumps."""

from tests.evidence.recorded_rows import HEAD, Table, effects, quantities
from tests.recorded.parts_measures import TABLES, measured
from tests.recorded.recorded_cases import recorded

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
    listed = table(HEAD, quantities(recorded(*TABLES), measured))
    return f"{INTRO}\n\n{listed}\n\n{EFFECT_INTRO}\n\n{table(EFFECT_HEAD, effects('parts_effects'))}"
