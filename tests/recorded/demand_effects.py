"""What each change in the draws does to the answer: the same houses and weather with and without it.

`python -m tests.recorded.demand_effects` measures it anew and writes demand_effects.csv.
"""

from sim.units import to_si
from tests.recorded.effects import RUNS, YEARS, write
from tests.recorded.recorded_cases import FOLDER

FILE = FOLDER / "demand_effects.csv"
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


if __name__ == "__main__":
    write(FILE, HEAD, COLUMNS, WITHOUT)
