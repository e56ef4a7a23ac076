"""How often a tap sample of the demonstration house is positive: `python -m tests.recorded.tap_samples`.

The chance of each sample is averaged, not the few finds, which chance alone moves by more.
"""

import numpy as np

from sim.scenario.read.load import DEMO, load
from sim.twin.run import common_inputs, run

RUNS, YEARS = 24, 3
SAMPLED = ("by the calendar", "by the readings")


def chances(house, policy) -> np.ndarray:
    """Return the chance of a find of each sample [fraction]."""
    histories = [run(house, policy, common_inputs(house, number, 1, YEARS)) for number in range(RUNS)]
    return np.array([e.value for one in histories for e in one.events if e.kind == "sample"])


def main() -> None:
    """Print the mean chance of a find, and that of one that comes of the water."""
    house = load(DEMO)
    assert house.sample is not None
    hand = house.sample.false_positive_share
    for policy in (one for one in house.policies if one.name in SAMPLED):
        each = chances(house, policy)
        error = each.std(ddof=1) / np.sqrt(each.size)
        water = (each.mean() - hand) / (1.0 - hand)
        print(
            f"{policy.name}: {each.size} samples, {each.mean():.1%} +- {error:.1%}, of the water {water:.1%}"
        )


if __name__ == "__main__":
    main()
