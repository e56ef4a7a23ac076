"""An answer over many ways of looking after a house: those it does not name are counted."""

import numpy as np
import pandas as pd
import pytest

from sim.study.compare.comparison import compare
from sim.study.compare.sentences import sentences_of
from sim.study.first_few import few
from tests.plain_words import faults

SWING = np.tile([1.0, -1.0], 20)


def told(**ways):
    """Return the answer over ways of a cost and days a year each, the first the reference."""
    rows = [
        pd.DataFrame(
            {
                "policy": name, "replication": np.arange(40), "years": 10.0, "cost": cost + SWING,
                "water_off_h": 3.0, "alarm_h": 2.0, "days_below_target": days + 0.1 * SWING,
                "least_dose_j_m2": 400.0,
            }
        )
        for name, (cost, days) in ways.items()
    ]  # fmt: skip
    found = compare(pd.concat(rows, ignore_index=True), next(iter(ways)), 5.0)
    text = " ".join(sentences_of(found, "USD", None))
    assert faults(text) == []
    return text


DEARER = {"b": (410.0, 0.5), "c": (420.0, 0.5), "d": (430.0, 0.5)}


def test_those_that_cost_more_are_told_the_cheapest_first():
    three = told(a=(300.0, 0.5), **DEARER)
    assert "'b' costs 110 USD a year more, 'c' 120 and 'd' 130, and none of them spares" in three
    five = told(a=(300.0, 0.5), f=(460.0, 0.5), e=(440.0, 0.5), **DEARER)
    assert "'b' costs 110 USD a year more, 'c' 120, 'd' 130 and 2 others still more, and none of them" in five


def test_those_over_a_limit_are_counted_where_they_are_not_named():
    over = dict.fromkeys("wxyz", (100.0, 60.0))
    text = told(a=(300.0, 0.5), **over)
    assert "'w' (60 bad days a year), 'x' (60 bad days a year), 'y' (60 bad days a year) and 1 other." in text


@pytest.mark.parametrize(
    ("count", "said"),
    [(1, "0"), (2, "0 or 1"), (3, "0, 1 or 2"), (4, "0, 1, 2 or 1 other"), (6, "0, 1, 2 or 3 others")],
)
def test_some_are_named_and_the_others_counted(count, said):
    assert few([str(at) for at in range(count)], "or") == said
