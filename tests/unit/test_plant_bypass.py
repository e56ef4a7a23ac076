"""The share through the train beside an open bypass: closed forms, and equal drop on both ways."""

import math

import pytest

from sim.plant.bypass import train_share


def test_two_like_orifices_share_evenly():
    assert train_share(3e-4, 0.0, 7e9, 7e9) == pytest.approx(0.5, rel=1e-12)


@pytest.mark.parametrize(("train", "bypass"), [(4.0, 1.0), (1.0, 4.0), (9.0, 16.0)])
def test_orifices_share_as_the_inverse_roots(train, bypass):
    """a f^2 = c (1 - f)^2: f = sqrt(c)/(sqrt(a) + sqrt(c)), whatever the flow."""
    wanted = math.sqrt(bypass) / (math.sqrt(train) + math.sqrt(bypass))
    for flow in (0.1, 2.0):
        assert train_share(flow, 0.0, train, bypass) == pytest.approx(wanted, rel=1e-12)


def test_laminar_train_by_hand():
    """1 f Q = 2 ((1 - f) Q)^2 at Q = 1: 2 f^2 - 5 f + 2 = 0, f = 1/2; at Q = 2 2 f = 8 (1 - f)^2."""
    assert train_share(1.0, 1.0, 0.0, 2.0) == pytest.approx(0.5, rel=1e-12)
    assert train_share(2.0, 1.0, 0.0, 2.0) == pytest.approx((9.0 - math.sqrt(17.0)) / 8.0, rel=1e-12)


@pytest.mark.parametrize("flow", [5e-5, 4e-4])
@pytest.mark.parametrize(("a", "b", "c"), [(1.5e8, 2e11, 4e10), (3e7, 1e10, 6e11)])
def test_drop_is_the_same_on_both_ways(flow, a, b, c):
    share = train_share(flow, a, b, c)
    through, round_it = share * flow, (1.0 - share) * flow
    assert 0.0 < share < 1.0
    assert a * through + b * through**2 == pytest.approx(c * round_it**2, rel=1e-9)
