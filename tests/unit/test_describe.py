"""The table of a search: for each design the runs it is described by, means, bounds, and the order."""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from sim.study.search.describe import MEANS, runs_of, table
from sim.study.search.pool import DAYS_COUNTED, SPENT, Arm
from sim.study.search.search import SELECT_FROM

FRESH = (2000, 2010)  # replications of the last look


class Runs:
    """Stands for runs of three designs, two years each; the third was let go before the last look."""

    designs = tuple(
        SimpleNamespace(label=label, policies=(SimpleNamespace(name="by rule"),)) for label in "abc"
    )

    def counts(self, arm, first, stop):
        if (first, stop) == FRESH:
            return 0 if arm.design == 2 else 10
        assert (first, stop) == (0, SELECT_FROM)
        return 4

    def sample(self, arms, first, stop, column):
        runs = np.arange(stop - first, dtype=float)
        if column == SPENT:
            return np.array([900.0 - 100.0 * arm.design + runs for arm in arms])
        if column == DAYS_COUNTED:
            return np.array([np.where(runs < 5, 2.0, 4.0) * (arm.design != 1) for arm in arms])
        return np.full((len(arms), stop - first), 2.0)


ARMS = [Arm(k, 0) for k in range(3)]
FOUND = SimpleNamespace(
    compare=FRESH, full=False, fates={ARMS[0]: "chosen", ARMS[1]: "dearer", ARMS[2]: "over a limit"}
)
CHOICES = [SimpleNamespace(values=(size,)) for size in ("2.5x10", "4.5x10", "4.5x20")]
LINES = table(Runs(), FOUND, CHOICES, [SimpleNamespace(key="size")], [320.0, 280.0, 410.0])


def test_the_chosen_stands_first_and_the_others_by_their_cost():
    assert LINES["design"].tolist() == ["a", "c", "b"]
    assert LINES["size"].tolist() == ["2.5x10", "4.5x20", "4.5x10"]
    assert LINES["fate"].tolist() == ["chosen", "over a limit", "dearer"]
    assert LINES["cost_equipment"].tolist() == [320.0, 410.0, 280.0]
    assert LINES["design_number"].tolist() == [0, 2, 1] and set(LINES["policy"]) == {"by rule"}


def test_runs_are_those_of_the_last_look_or_for_who_was_let_go_those_of_the_first():
    assert runs_of(Runs(), FOUND, ARMS[0]) == FRESH
    assert runs_of(Runs(), FOUND, ARMS[2]) == (0, 4)
    assert LINES["runs"].tolist() == [10, 4, 10]
    assert LINES["fresh"].tolist() == [True, False, True]


def test_means_have_the_bounds_of_student():
    assert LINES["cost"][0] == pytest.approx(904.5)
    half = 2.2622 * math.sqrt(55.0 / 6.0) / math.sqrt(10.0)  # t of 9 degrees, 0.975; variance of 0 to 9
    assert LINES["cost_low"][0] == pytest.approx(904.5 - half, abs=1e-3)
    assert LINES["cost_high"][0] == pytest.approx(904.5 + half, abs=1e-3)
    assert LINES["days_below_target"][0] == pytest.approx(3.0)


def test_where_no_run_had_a_bad_day_the_bound_is_that_of_none_seen():
    """1 - 0.025^(1/10) of the runs at most had any (exact binomial); over runs of two years."""
    b = LINES[LINES["design"] == "b"].iloc[0]
    assert b["days_below_target"] == 0.0 and b["days_below_target_low"] == 0.0
    assert b["days_below_target_high"] == pytest.approx((1.0 - 0.025**0.1) / 2.0)


def test_other_figures_are_means():
    assert all((LINES[name] == 2.0).all() for name in MEANS.values())
