"""What weather that holds does to the answer: the same draws, cuts and chances with and without.

`python -m tests.recorded.rain_effects` measures it anew and writes rain_effects.csv.
"""

from tests.recorded.effects import RUNS, YEARS, write
from tests.recorded.recorded_cases import FOLDER

FILE = FOLDER / "rain_effects.csv"
COLUMNS = ("tanker_loads", "water_off_h", "days_below_target", "cost")
# As it was before: a chain of wet and dry days, whose state does not outlast a day, with gamma depths.
WITHOUT = {"weather": {"rain.wetness_spread": 0.0, "rain.depth_spread": 0.0}}
HEAD = f"""\
# What weather that holds from day to day does to a year of a house: its mean with it, and what it adds, with
# its standard error; the same random numbers with and without. First policy of each site, {RUNS} runs of
# {YEARS} years, random seed 1. Written by python -m tests.recorded.rain_effects.
"""


if __name__ == "__main__":
    write(FILE, HEAD, COLUMNS, WITHOUT)
