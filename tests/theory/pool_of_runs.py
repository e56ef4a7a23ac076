"""240 runs of the demo house under four policies, kept so that many studies can be drawn from them.

    python -m tests.theory.pool_of_runs     make them again, in some two minutes

A study that is asked with a seed is here 80 of these runs, drawn without repeats. Studies share runs, so they
agree more than seeds do; ten true seeds of each site are asked in tests/whole/test_same_answer.py.
"""

from pathlib import Path

from sim.scenario.read.load import DEMO, load
from sim.study.runs.means import Means
from sim.study.runs.replicate import study
from sim.study.runs.request import Design, Inputs

FILE = Path(__file__).with_suffix(".csv")
RUNS, YEARS, SEED = 240, 3, 1000
LEFT_OUT = "nothing done"  # over every limit that is tried, and half of the bytes
COLUMNS = (
    *("policy", "replication", "years", "cost", "water_off_h", "alarm_h"),
    *("days_below_target", "days_expected", "least_dose_j_m2"),
)


def main() -> None:
    """Run and keep them."""
    house = load(DEMO)
    policies = tuple(one for one in house.policies if one.name != LEFT_OUT)
    rows = study(Design("pool", house, policies), Inputs(SEED, YEARS), RUNS, Means(workers=2)).rows
    rows[[name for name in rows if name in COLUMNS or name.startswith("water_off_h_by_")]].to_csv(
        FILE, index=False, float_format="%.7g"
    )


if __name__ == "__main__":
    main()
