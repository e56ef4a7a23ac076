"""What a tap sample says: first-order survival averaged by volume, and a Poisson number in the bottle."""

import math

import numpy as np
import pytest

from sim.upkeep.sampling import positive_probability, surviving_share


def test_survival_is_averaged_by_volume():
    """1 m3 at one log, 3 m3 at two logs: (0.1 + 0.03)/4."""
    share = surviving_share(np.array([1.0, 3.0]), np.array([30.0, 60.0]), 30.0)
    assert share == pytest.approx(0.13 / 4.0, rel=1e-12)


def test_a_draw_without_flow_adds_nothing():
    assert surviving_share(np.array([2.0, 0.0]), np.array([30.0, math.inf]), 30.0) == pytest.approx(0.1)


def test_no_water_no_share():
    assert surviving_share(np.zeros(2), np.full(2, math.inf), 30.0) == 0.0
    assert surviving_share(np.zeros(0), np.zeros(0), 30.0) == 0.0


def test_less_than_a_cubic_metre_counts_as_any_other():
    assert surviving_share(np.array([1e-3]), np.array([0.0]), 30.0) == 1.0


@pytest.mark.parametrize("false_share", [0.0, 0.02, 1.0])
def test_a_find_is_organisms_or_chance(false_share):
    """Clear only when both say so: (1 - q) exp(-mean)."""
    clear = (1.0 - false_share) * math.exp(-4.0 * 0.25)
    assert positive_probability(0.25, 4.0, false_share) == pytest.approx(1.0 - clear, rel=1e-12)
    assert positive_probability(0.0, 4.0, false_share) == pytest.approx(false_share, abs=1e-15)
