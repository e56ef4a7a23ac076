"""Whether a choice keeps to its limits in fresh runs: by its upper bound, and after how many runs."""

import numpy as np
import pytest

from sim.study.search.confirm import MOST_FACTOR, confirmed, within_by_bound
from sim.study.search.limits import Limits
from sim.study.search.pool import DAYS_COUNTED, Arm

T_9_975 = 2.262  # Student's t, 9 degrees of freedom, 97.5 % (handbook table)
ONE, TWO = Arm(0, 0), Arm(1, 0)


class Made:
    """A pool of made-up days: of each arm a mean and a deviation, evenly to both sides."""

    def __init__(self, days):
        self.days, self.asked = days, []

    def need(self, arms, first, stop):
        self.asked.append((arms[0], first, stop))

    def sample(self, arms, first, stop, column):
        n = stop - first
        if column == "years":
            return np.ones((1, n))
        assert column == DAYS_COUNTED
        mean, sd = self.days[arms[0]]
        side = np.where(np.arange(n) % 2, 1.0, -1.0)
        return (mean + sd * ((n - 1) / n) ** 0.5 * side)[None, :]


@pytest.mark.parametrize(("share", "within"), [(0.999, True), (1.001, False)])
def test_the_upper_bound_of_95_to_both_sides_decides(share, within):
    sd = share * (5.0 - 4.0) / T_9_975 * 10**0.5
    assert within_by_bound(Made({ONE: (4.0, sd)}), ONE, Limits(5.0), 100, 10) is within


def test_who_is_over_by_the_mean_is_given_up_at_once_and_who_is_under_gets_more_runs():
    pool = Made({ONE: (5.1, 1.0), TWO: (4.0, 2.0)})
    assert confirmed(pool, [ONE, TWO], Limits(5.0), 100, 10) == (TWO, 20)
    assert pool.asked == [(ONE, 100, 110), (TWO, 100, 110), (TWO, 100, 120)]


def test_who_stays_too_uncertain_is_not_confirmed():
    pool = Made({ONE: (4.99, 3.0)})
    assert confirmed(pool, [ONE], Limits(5.0), 100, 10) == (None, 10)
    assert [stop for _, _, stop in pool.asked] == [100 + 10 * n for n in range(1, MOST_FACTOR + 1)]
