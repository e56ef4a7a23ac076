"""What changes in pumps, cuts, cartridges and ratings do to the answer: the same weather with and without.

`python -m tests.recorded.parts_effects` measures it anew and writes parts_effects.csv.
"""

import csv
from collections.abc import Mapping

import numpy as np

from sim.constants import HOUR_S, YEAR_S
from sim.outcome import measures
from sim.scenario.read.load import load
from sim.scenario.values.numbers import with_values
from sim.twin.run import common_inputs, run
from tests.recorded.recorded_cases import FOLDER

FILE = FOLDER / "parts_effects.csv"
SITES, RUNS, YEARS = ("family_house", "cottage"), 40, 5
COLUMNS = (
    "pump_failures",
    "pump_callouts",
    "pump_water_off_h",
    "water_off_h",
    "low_pressure_min",
    "unsafe_water_h",
    "days_below_target",
    "cartridges",
    "cost",
)
# As it was before: 6,000 h of running and nothing else; 2.0 cuts, 185 min a year; the intermediate law at
# once, all cartridges alike; a rating that holds at the end of lamp life.
PUMPS = {
    "pump.life_age": 9e4 * YEAR_S,
    "pump.life": 6000 * HOUR_S,
    "pump.life_starts": 1e12,
    "pump.life_shape": 2.0,
}
CUTS = {"power.saifi": 2.0, "power.saidi": 185 * 60.0, "power.cut_spread": 1.2}
CARTRIDGES = {
    "stage[sediment].law": 1.0,
    "stage[sediment].plateau": 0.0,
    "stage[sediment].capacity_cv": 0.0,
    "stage[carbon].capacity_cv": 0.0,
}
RATING = {"uv.rated_at": "end of lamp life", "uv.dose_at_rating": 400.0}
ALL = PUMPS | CUTS | CARTRIDGES | RATING
WITHOUT = {"pumps": PUMPS, "cuts": CUTS, "cartridges": CARTRIDGES, "rating": RATING, "all of it": ALL}
HEAD = f"""\
# What changes in pumps, power cuts, cartridges and the meaning of the UV rating do to a year of a house: its
# mean with all of them, and what one of them adds, with its standard error; the same weather, draws and
# chances with and without. First policy of each site, {RUNS} runs of {YEARS} years, random seed 1. Written by
# python -m tests.recorded.parts_effects.
"""


def figures(site: str, changed: Mapping[str, float | str]) -> np.ndarray:
    """Return the figures of each run, a row a run."""
    scenario = with_values(load(site), changed)
    found = []
    for replication in range(RUNS):
        common = common_inputs(scenario, replication, 1, YEARS)
        row = measures.row(run(scenario, scenario.policies[0], common))
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
                    mean, difference, se = (f"{round(number, 5) + 0.0:.4g}" for number in numbers)
                    lines.writerow((site, column, mean, name, difference, se))


if __name__ == "__main__":
    main()
