"""What each change in the draws does to the answer: the same houses and weather with and without it.

`python -m tests.recorded.demand_effects` measures it anew and writes demand_effects.csv.
"""

import csv
from collections.abc import Mapping

import numpy as np

from sim.outcome import measures
from sim.scenario.read.load import load
from sim.scenario.values.numbers import with_values
from sim.twin.run import common_inputs, run
from sim.units import to_si
from tests.recorded.recorded_cases import FOLDER

FILE = FOLDER / "demand_effects.csv"
SITES, RUNS, YEARS = ("family_house", "cottage"), 40, 5
COLUMNS = (
    "pump_starts",
    "short_runs",
    "cartridges",
    "tanker_loads",
    "days_below_target",
    "water_off_h",
    "cost",
)
SESSIONS = {"house.sessions_per_person_day": 0.0}
SIZES = {
    "house.use[toilet].size_cv": 0.1,
    "house.use[shower].size_cv": 0.4,
    "house.use[shower].flow_cv": 0.15,
    "house.use[tap].size_cv": 0.8,
    "house.use[tap].flow_cv": 0.4,
    "house.use[tap].duration": 25.0,
    "house.use[tap].flow": to_si(0.8, "gpm", "flow"),
}
DAYS = {"house.use[tap].day_cv": 0.0, "house.day_kept_share": 0.0, "house.weekend_ratio": 1.0}
WITHOUT = {"sessions": SESSIONS, "sizes": SIZES, "days": DAYS, "all of it": SESSIONS | SIZES | DAYS}
HEAD = f"""\
# What each change in the draws does to a year of a house: its mean with all of them, and what one of them
# adds, with its standard error; the same weather, cuts and lives with and without. First policy of each site,
# {RUNS} runs of {YEARS} years, random seed 1. Written by python -m tests.recorded.demand_effects.
"""


def figures(site: str, changed: Mapping[str, float]) -> np.ndarray:
    """Return the figures of each run, a row a run."""
    scenario = with_values(load(site), changed)
    found = []
    for replication in range(RUNS):
        row = measures.row(
            run(scenario, scenario.policies[0], common_inputs(scenario, replication, 1, YEARS))
        )
        found.append([float(row[column]) for column in COLUMNS])
    return np.array(found)


def main() -> None:
    """Measure all sites and write the table."""
    with FILE.open("w", encoding="utf-8", newline="") as file:
        file.write(HEAD)
        lines = csv.writer(file, lineterminator="\n")
        lines.writerow(("site", "figure", "with all", "added by", "difference", "se"))
        for site in SITES:
            with_all = figures(site, {})
            for name, changed in WITHOUT.items():
                added = with_all - figures(site, changed)
                error = added.std(axis=0, ddof=1) / np.sqrt(RUNS)
                for place, column in enumerate(COLUMNS):
                    numbers = (with_all[:, place].mean(), added[:, place].mean(), error[place])
                    mean, difference, se = (f"{number:.4g}" for number in numbers)
                    lines.writerow((site, column, mean, name, difference, se))


if __name__ == "__main__":
    main()
