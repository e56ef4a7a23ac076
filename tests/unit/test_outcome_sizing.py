"""What sizes are judged by: flows together, worked by hand and held against a slow sweep."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some

from sim.outcome.sizing import greatest_flows_m3_s


def test_three_draws_by_hand():
    start, seconds = np.array([0.0, 10.0, 20.0]), np.array([15.0, 10.0, 5.0])
    volume = np.array([15.0, 20.0, 15.0])  # flows 1, 2, 3; the second ends as the third begins
    assert greatest_flows_m3_s(start, seconds, volume) == pytest.approx([3.0, 3.0, 3.0])


@given(
    some.lists(
        some.tuples(some.integers(0, 50), some.integers(1, 20), some.integers(1, 9)), min_size=1, max_size=25
    )
)
def test_flows_together_are_those_of_a_sweep(draws):
    draws = sorted(draws)
    start, seconds, flow = (np.array(column, dtype=float) for column in zip(*draws, strict=True))
    found = greatest_flows_m3_s(start, seconds, flow * seconds)
    for at, (begin, length, _) in enumerate(draws):
        half_seconds = np.arange(begin, begin + length) + 0.5
        slow = max(float(flow[(start < t) & (t < start + seconds)].sum()) for t in half_seconds)
        assert found[at] == pytest.approx(slow)
