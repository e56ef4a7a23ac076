"""What changes in pumps, cuts, cartridges and ratings do to the answer: the same weather with and without.

`python -m tests.recorded.parts_effects` measures it anew and writes parts_effects.csv.
"""

from sim.constants import HOUR_S, YEAR_S
from tests.recorded.effects import RUNS, YEARS, write
from tests.recorded.recorded_cases import FOLDER

FILE = FOLDER / "parts_effects.csv"
COLUMNS = (
    "pump_failures",
    "pump_callouts",
    "pump_water_off_h",
    "water_off_h",
    "low_pressure_min",
    "alarm_h",
    "low_light_h",
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


if __name__ == "__main__":
    write(FILE, HEAD, COLUMNS, WITHOUT)
