"""What it costs to bring clogging, colour and alarm up at midnight only, when nobody works on the house.

The same runs, brought up every three hours. Means over runs must stay within the accuracy that is aimed at; a
single run may move far more, as an alarm then goes on or off hours earlier and people come on another day.
"""

import csv
from pathlib import Path

import numpy as np
import pytest

from sim.outcome.measures import row
from sim.scenario.load import DEMO, load
from sim.twin.processes import Care
from sim.twin.run import common_inputs, run
from sim.twin.world import DAY_S

ACCURACY = Path(__file__).parents[1] / "accuracy.csv"
FIGURES = ("cost", "water_off_h", "unsafe_water_h", "days_below_target", "alarms")
REPLICATIONS, A_DAY = 8, 8


def days_in_parts(care):
    """The care's own days, with the plant brought up in between."""
    whole = type(care).whole_days(care)
    for _ in whole:
        for _ in range(A_DAY - 1):
            yield care.env.timeout(DAY_S / A_DAY)
            care.world.bring()
        yield care.env.timeout(DAY_S / A_DAY)


def rows(house):
    commons = [common_inputs(house, number, 1, 1) for number in range(REPLICATIONS)]
    kept = [policy for policy in house.policies if policy.name != "nothing done"]
    return [row(run(house, policy, common)) for common in commons for policy in kept]


@pytest.mark.long
def test_the_hand_over_at_midnight_moves_no_mean_beyond_its_accuracy(monkeypatch, record_property):
    house = load(DEMO)
    at_midnight = rows(house)
    monkeypatch.setattr(Care, "whole_days", Care.days, raising=False)
    monkeypatch.setattr(Care, "days", days_in_parts)
    oftener = rows(house)
    with ACCURACY.open(encoding="utf-8", newline="") as lines:
        wanted = {
            one["column"]: (float(one["absolute"]), float(one["relative"])) for one in csv.DictReader(lines)
        }
    record_property("runs of a year", str(len(oftener)))
    beyond = []
    for name in FIGURES:
        once, more = (np.array([one[name] for one in which], float) for which in (at_midnight, oftener))
        moved, mean = more - once, once.mean()
        most = float(np.abs(moved).max())
        record_property(
            name.replace("_", " "), f"mean {mean:.4g} to {more.mean():.4g}, most in one run {most:.3g}"
        )
        absolute, relative = wanted[name]
        if abs(moved.mean()) > max(absolute, relative * mean):
            beyond.append(name)
    assert beyond == []
    assert any(
        one["unsafe_water_h"] != two["unsafe_water_h"] for one, two in zip(at_midnight, oftener, strict=True)
    )
