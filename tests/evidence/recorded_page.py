"""The chapter "Recorded and simulated" of the page of evidence: how people draw water."""

from tests.evidence.recorded_rows import HEAD, Table, effects, quantities
from tests.recorded.demand_measures import TABLES, measured
from tests.recorded.recorded_cases import recorded

EFFECT_HEAD = (
    "site",
    "figure, a year",
    "with all",
    "sessions add",
    "sizes add",
    "days add",
    "all of it adds",
)
INTRO = """\
### Draws

How people drew water in a flat of one person (Naples), a house of five (Utah), 47 and 49 homes
(Alicante), two homes (Bologna), and in counts of 730 homes (US), beside what households drawn here come
to. Sources, authors and licences stand in the heads of `tests/recorded/demand.csv` and
`tests/recorded/homes.csv`; what comes from Alicante is under CC BY-SA and stands in files of its own.
*Blind* was not looked at when numbers were set, *calibrated* was; *before* is the release of
2026-11-25, which had seen none of it. A row asks for four standard errors, or for a place between
recorded homes where no one value is right, or states its gap. Coefficients of variation have an error
by the normal law; gaps between draws by counting, which is too small an error, as months of one person
differ by more."""
EFFECT_INTRO = """\
What it does to the answer, by `python -m tests.recorded.demand_effects`: the same weather, cuts and
lives with and without; mean difference ± its standard error."""


def draws(table: Table) -> str:
    """Return the part on draws."""
    listed = table(HEAD, quantities(recorded(*TABLES), measured))
    return f"{INTRO}\n\n{listed}\n\n{EFFECT_INTRO}\n\n{table(EFFECT_HEAD, effects('demand_effects'))}"
