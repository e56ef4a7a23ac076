"""What a skip comes to over many runs, in words: water, weak taps and money stand in the headline."""

import pandas as pd
import pytest

from sim.scenario.read import load
from sim.study.skip.skip_words import answer
from sim.study.skip.skipping import ends, skipping
from tests.plain_words import faults

RUNS = 8


def rows(policy, *, days=0.0, off=2.0, weak=30.0, unusable=0.0, cost=500.0):
    return pd.DataFrame(
        {
            "policy": policy, "replication": range(RUNS),
            "days_below_target": [days + 0.1 * one for one in range(RUNS)],
            "water_off_h": [off + one for one in range(RUNS)],
            "low_pressure_min": [weak + one for one in range(RUNS)],
            "unusable_days": unusable, "cost": [cost + one for one in range(RUNS)],
        }
    )  # fmt: skip


def said(runs=RUNS, **left):
    scenario = load.load(load.DEMO)
    kept = scenario.policies[0]
    skipped = skipping(kept, ["wipe sleeve"], 0.0, None)
    both = pd.concat([rows(kept.name), rows(skipped.name, **left)])
    text = answer(ends(both[both["replication"] < runs], kept.name, skipped.name), scenario, skipped)
    assert faults(text) == []
    return text


@pytest.mark.parametrize(
    ("left", "words"),
    [
        ({"off": 702.0}, "700 more hours a year without water"),
        ({"weak": 6030.0}, "100 more hours a year of weak taps"),
        ({"days": 12.0}, "12 more days a year below the dose target"),
        ({"cost": 300.0}, "It costs 200 USD a year less than doing the work."),
        ({}, "exactly as many hours a year without water"),
    ],
)
def test_each_measure_stands_in_the_headline(left, words):
    assert words in said(**left)


def test_a_house_without_water_saves_nothing():
    """Eight dry houses that each spent 400 less: what was not spent is no saving."""
    dry = said(off=7000.0, unusable=280.0, cost=100.0)
    assert "7,000 more hours a year without water" in dry
    assert "In 8 of 8 runs the house came to be unusable" in dry
    assert "on 280 days a year" in dry
    assert "costs are not compared" in dry
    assert "It costs" not in dry
    assert "USD" not in dry


def test_one_run_gives_no_bounds():
    assert "one run gives no bounds" in said(1, off=700.0)
    assert "In this run the house came to be unusable" in said(1, unusable=100.0)
