"""Days on which the power was off, with the hour in which all starts up again."""

from types import SimpleNamespace

import pytest

from sim.twin.run import _days_of_cuts

HOUR, DAY = 3600.0, 86400.0


@pytest.mark.parametrize(
    ("cuts_s", "days"),
    [
        ([], []),
        ([(DAY + 8 * HOUR, DAY + 9 * HOUR)], [1]),
        ([(DAY + 21 * HOUR, DAY + 22.9 * HOUR)], [1]),  # up again before midnight
        ([(DAY + 21 * HOUR, DAY + 23.1 * HOUR)], [1, 2]),  # up again after it
        ([(0.5 * DAY, 2.5 * DAY)], [0, 1, 2]),
        ([(0.0, HOUR), (3 * DAY, 3 * DAY + HOUR)], [0, 3]),
        ([(3 * DAY + 20 * HOUR, 4 * DAY - 60.0)], [3]),  # the run ends with that day
    ],
)
def test_days_of_power_cuts(cuts_s, days):
    found = _days_of_cuts(SimpleNamespace(n_days=4, cuts_s=cuts_s))
    assert found.nonzero()[0].tolist() == days and found.size == 4
