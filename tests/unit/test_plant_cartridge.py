import math

import numpy as np
import pytest

from sim.plant import cartridge

LAWS = {
    "complete": cartridge.COMPLETE,
    "standard": cartridge.STANDARD,
    "intermediate": cartridge.INTERMEDIATE,
    "cake": cartridge.CAKE,
}


@pytest.mark.parametrize("law", LAWS.values(), ids=LAWS)
class TestBlocking:
    def test_clean_is_one(self, law):
        assert cartridge.resistance_ratio(0.0, law, 0.7) == 1.0

    @pytest.mark.parametrize("ratio", [1.0, 1.5, 4.0, 16.0, 200.0])
    def test_growth_reaches_the_stated_ratio_at_full_load(self, law, ratio):
        k = cartridge.growth_for(law, ratio)
        assert cartridge.resistance_ratio(1.0, law, k) == pytest.approx(ratio, rel=1e-11)

    def test_finite_and_never_falling_far_past_capacity(self, law):
        k = cartridge.growth_for(law, 16.0)
        grid = np.concatenate([np.linspace(0.0, 3.0, 3001), np.logspace(1, 9, 50)])
        ratios = np.array([cartridge.resistance_ratio(x, law, k) for x in grid])
        assert np.isfinite(ratios).all()
        assert (np.diff(ratios) >= 0).all()
        assert ratios.max() == cartridge.LARGEST_RATIO

    def test_plain_source_does_not_overflow_either(self, law):
        assert cartridge.resistance_ratio.py_func(1e9, law, 2.0) == cartridge.LARGEST_RATIO

    def test_no_growth_no_clogging(self, law):
        assert cartridge.resistance_ratio(5.0, law, 0.0) == 1.0


def test_laws_that_block_late_are_the_ones_that_block_suddenly():
    # all reach 16 at full load; half way the order is that of the exponent of the law
    half = [cartridge.resistance_ratio(0.5, law, cartridge.growth_for(law, 16.0)) for law in LAWS.values()]
    assert half == sorted(half)
    assert half[0] < half[1] < half[2] < half[3]


@pytest.mark.parametrize(("law", "diverges"), [(cartridge.COMPLETE, 1.0), (cartridge.STANDARD, 2.0)])
def test_diverging_laws_are_shut_at_and_past_their_pole(law, diverges):
    for x in (diverges, 1.5 * diverges, 100.0):
        assert cartridge.resistance_ratio(x, law, 1.0) == cartridge.LARGEST_RATIO


@pytest.mark.parametrize("share", [0.5, 0.85, 0.998])
@pytest.mark.parametrize("sharpness", [1.0, 2.0, 4.0])
def test_half_size_gives_back_the_rating(share, sharpness):
    d50 = cartridge.efficiency_half_size_m(5e-6, share, sharpness)
    assert cartridge.capture_efficiency(5e-6, d50, sharpness) == pytest.approx(share, rel=1e-12)
    assert cartridge.capture_efficiency(d50, d50, sharpness) == 0.5


def test_capture_rises_with_size_from_none_to_all():
    sizes = np.logspace(-8, -3, 60)
    caught = np.array([cartridge.capture_efficiency(d, 3e-6, 2.0) for d in sizes])
    assert (np.diff(caught) > 0).all()
    assert caught[0] < 1e-4
    assert caught[-1] > 1 - 1e-4


def test_beta_of_one_catches_nothing():
    assert cartridge.efficiency_from_beta(1.0) == 0.0
    assert cartridge.efficiency_from_beta(math.inf) == 1.0
