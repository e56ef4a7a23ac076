"""Days below the dose target by cause of 240 runs of each built-in house, kept to draw many studies from.

python -m tests.theory.pool_of_causes     make them again, in some ten minutes
"""

from pathlib import Path

import pandas as pd

from sim.outcome.causes import DAYS, EXCESS_DAYS, column
from sim.plant.cause import CAUSES
from sim.scenario.read.load import load
from sim.study.runs.means import Means
from sim.study.runs.replicate import study
from sim.study.runs.request import Design, Inputs

FOLDER = Path(__file__).with_suffix("")
SITES = ("family_house", "cottage", "forest_house", "training_hall")
RUNS, YEARS, SEED = 240, 3, 2000
LEFT_OUT = "nothing done"
KEYS = ("policy", "replication", "years", "days_below_target", "days_expected")
BY_CAUSE = tuple(column(kind, code) for kind in (DAYS, EXCESS_DAYS) for code in range(len(CAUSES)))


def pool(site: str) -> pd.DataFrame:
    """Return the kept rows of a house; causes that no run met are 0."""
    rows = pd.read_csv(FOLDER / f"{site}.csv")
    met = [name for name in BY_CAUSE if name.startswith(DAYS)]
    return rows.assign(**{name: 0.0 for name in met if name not in rows})


def main() -> None:
    """Run and keep them, without the causes that no run met."""
    for site in SITES:
        house = load(site)
        policies = tuple(one for one in house.policies if one.name != LEFT_OUT)
        rows = study(Design("pool", house, policies), Inputs(SEED, YEARS), RUNS, Means(workers=1)).rows
        names = [*KEYS, *(name for name in BY_CAUSE if name in rows and rows[name].any())]
        rows[names].to_csv(FOLDER / f"{site}.csv", index=False, float_format="%.6g")
        print(site, len(rows), flush=True)


if __name__ == "__main__":
    main()
