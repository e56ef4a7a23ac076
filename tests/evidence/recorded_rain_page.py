"""The chapter "Recorded and simulated" of the page of evidence: rain."""

import numpy as np

from tests.evidence.recorded_rows import Table, effects
from tests.recorded.recorded_rain import STATISTICS, spread_rows

Row = dict[str, str]
WORDS = {
    "yearly_cv": "cv of yearly totals",
    "monthly_sd": "sd of the totals of a month",
    "longest_dry": "longest dry run of a year",
    "driest_90_days": "driest 90 days of a year",
    "wettest_day": "wettest day of a year",
}
SUFFICES_SE = 4.0
HEAD = ("quantity", "place", "recorded", "grade", "before", "now", "fitted to the place", "verdict", "judged")
MIDDLE_HEAD = ("quantity", "six places, before", "now", "fitted to each", "seven others, before, blind")
EFFECT_HEAD = ("site", "figure, a year", "with it", "weather that holds adds")
INTRO = """\
### Rain

Spread of years and months and dry times of thirteen daily records, beside rain that is generated with the
monthly values of each. Sources, authors and licences stand in the heads of `tests/recorded/rain_spread.csv`
and `rain_stations.csv`. *Before* is the chain of wet and dry days alone, *now* has the weather that holds of
`base.toml`, whose three numbers were chosen on the six *calibrating* places. The seven *blind* ones were
only ever run without it: their daily records are not kept here, so what is generated *now* for them is
**not known**. The wettest day is not fitted, and stays too small. Medians of the gaps first:"""
EFFECT_INTRO = """\
What it does to the answer, by `python -m tests.recorded.rain_effects`: the same random numbers with and
without; mean difference ± its standard error. Tanker loads on generated and on recorded rain are compared in
`tests/recorded/test_tanker_loads.py`, within two standard errors."""


def rain(table: Table) -> str:
    """Return the part on rain."""
    rows = [_row(row) for row in spread_rows()]
    return "\n\n".join(
        (
            *(INTRO, table(MIDDLE_HEAD, [_middle(name) for name in STATISTICS])),
            *(table(HEAD, rows), EFFECT_INTRO, table(EFFECT_HEAD, effects("rain_effects"))),
        )
    )


def _middle(statistic: str) -> tuple[str, ...]:
    def gap(part: str, column: str) -> str:
        found = [
            float(row[column])
            for row in spread_rows()
            if (row["statistic"], row["part"]) == (statistic, part)
        ]
        return f"{np.median(found):+.0%}"

    own = (gap("calibrating", f"{kind}_gap") for kind in ("plain", "usual", "fitted"))
    return (WORDS[statistic], *own, gap("blind", "plain_gap"))


def _row(row: Row) -> tuple[str, ...]:
    unit = "" if row["unit"] == "1" else f" {row['unit']}"
    known = row["part"] == "calibrating"
    return (
        WORDS[row["statistic"]], f"{row['station']}, {row['years']} years",
        f"{row['recorded']} ± {row['se']}{unit}", "R", row["plain"],
        row["usual"] if known else "not known", row["fitted"] if known else "not known",
        _verdict(row) if known else f"before: gap {float(row['plain_gap']):+.0%}",
        "calibrated" if known else "blind",
    )  # fmt: skip


def _verdict(row: Row) -> str:
    gap, error = float(row["usual_gap"]), float(row["se"]) / float(row["recorded"])
    errors = abs(gap) / error
    return f"within {errors:.1f} se" if errors <= SUFFICES_SE else f"gap {gap:+.0%}"
