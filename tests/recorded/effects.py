"""What changes of some inputs do to a year of a house, with and without them, written as a table."""

import csv
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from sim.outcome import measures
from sim.scenario.read.load import load
from sim.scenario.values.numbers import with_values
from sim.twin.run import common_inputs, run

SITES, RUNS, YEARS = ("family_house", "cottage"), 40, 5
Changes = Mapping[str, float | str]


def figures(site: str, changed: Changes, columns: Sequence[str]) -> np.ndarray:
    """Return the figures of each run, a row a run."""
    scenario = with_values(load(site), changed)
    found = []
    for replication in range(RUNS):
        common = common_inputs(scenario, replication, 1, YEARS)
        row = measures.row(run(scenario, scenario.policies[0], common))
        found.append([float(row[column]) for column in columns])
    return np.array(found)


def write(path: Path, head: str, columns: Sequence[str], without: Mapping[str, Changes]) -> None:
    """Measure all sites and write the table: the mean with all changes, and what each adds with its error."""
    with path.open("w", encoding="utf-8", newline="") as file:
        file.write(head)
        lines = csv.writer(file, lineterminator="\n")
        lines.writerow(("site", "figure", "with all", "added by", "difference", "se"))
        for site in SITES:
            with_all = figures(site, {}, columns)
            for name, changed in without.items():
                added = with_all - figures(site, changed, columns)
                error = added.std(axis=0, ddof=1) / np.sqrt(RUNS)
                for place, column in enumerate(columns):
                    numbers = (with_all[:, place].mean(), added[:, place].mean(), error[place])
                    mean, difference, se = (f"{round(number, 5) + 0.0:.4g}" for number in numbers)  # no "-0"
                    lines.writerow((site, column, mean, name, difference, se))
