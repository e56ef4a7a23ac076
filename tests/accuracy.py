"""How accurate each figure of a run is meant to be, as `accuracy.csv` states it."""

import csv
from pathlib import Path

FILE = Path(__file__).with_name("accuracy.csv")


def stated():
    """Return the lines of the file: column, absolute, relative, why."""
    with FILE.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def accuracy():
    """Return, by column, the absolute and the relative accuracy; the larger of the two holds."""
    return {one["column"]: (float(one["absolute"]), float(one["relative"])) for one in stated()}
