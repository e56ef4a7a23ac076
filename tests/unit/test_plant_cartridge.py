import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.stats import lognorm

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


BETWEEN = [0.0, 0.3, 0.5, 0.9, 0.999999, 1.0, 1.000001, 1.3, 1.5, 2.0]


@pytest.mark.parametrize("plateau", [0.0, 0.2, 0.5])
@pytest.mark.parametrize("n", BETWEEN)
class TestAnyExponent:
    def test_a_full_load_is_the_terminal_ratio_whatever_law_and_plateau(self, n, plateau):
        k = cartridge.growth_for(n, 34.0)
        assert cartridge.resistance_ratio(1.0, n, k, plateau) == pytest.approx(34.0, rel=1e-9)

    def test_nothing_grows_on_the_plateau(self, n, plateau):
        k = cartridge.growth_for(n, 34.0)
        assert [cartridge.resistance_ratio(x, n, k, plateau) for x in (0.0, 0.5 * plateau, plateau)] == [
            1.0
        ] * 3
        assert cartridge.resistance_ratio(plateau + 1e-3, n, k, plateau) > 1.0

    def test_beyond_it_the_resistance_solves_hermias_equation(self, n, plateau):
        """dR/dy = k R^n over what is left of the capacity, by scipy's integrator."""
        k, grid = cartridge.growth_for(n, 34.0), np.linspace(0.0, 1.0, 9)
        numeric = solve_ivp(lambda _, r: k * r**n, (0.0, 1.0), [1.0], "DOP853", grid, rtol=1e-11, atol=1e-12)
        loads = plateau + (1.0 - plateau) * grid
        ours = [cartridge.resistance_ratio(x, n, k, plateau) for x in loads]
        assert ours == pytest.approx(numeric.y[0], rel=1e-7)

    def test_it_never_falls_and_stays_finite_far_past_capacity(self, n, plateau):
        k = cartridge.growth_for(n, 34.0)
        grid = np.concatenate([np.linspace(0.0, 3.0, 601), np.logspace(1, 12, 50)])
        ratios = np.array([cartridge.resistance_ratio(x, n, k, plateau) for x in grid])
        assert (np.diff(ratios) >= 0.0).all()
        assert ratios[-1] == cartridge.LARGEST_RATIO


@pytest.mark.parametrize(
    ("n", "formula"),
    [
        (0.0, lambda y, r: 1.0 + (r - 1.0) * y),
        (0.5, lambda y, r: (1.0 + (math.sqrt(r) - 1.0) * y) ** 2),
        (1.0, lambda y, r: r**y),
        (1.5, lambda y, r: (1.0 - (1.0 - 1.0 / math.sqrt(r)) * y) ** -2),
        (2.0, lambda y, r: 1.0 / (1.0 - (1.0 - 1.0 / r) * y)),
    ],
)
def test_closed_forms_of_half_exponents(n, formula):
    """Hermia's four, and the parabola between cake and intermediate, past a plateau of a quarter."""
    for x in (0.3, 0.5, 0.8, 1.0):
        ours = cartridge.resistance_ratio(x, n, cartridge.growth_for(n, 16.0), 0.25)
        assert ours == pytest.approx(formula((x - 0.25) / 0.75, 16.0), rel=1e-10)


def test_the_law_is_continuous_at_the_intermediate_one():
    at = [
        cartridge.resistance_ratio(0.6, n, cartridge.growth_for(n, 30.0)) for n in (1 - 1e-9, 1.0, 1 + 1e-9)
    ]
    assert at == pytest.approx([30.0**0.6] * 3, rel=1e-7)


@pytest.mark.parametrize(("cv", "housings"), [(0.08, 1), (0.08, 3), (0.5, 1), (0.5, 2)])
def test_capacities_have_their_mean_and_spread(cv, housings):
    """By the moments of scipy's lognormal law; h cartridges together scatter by one over sqrt(h)."""
    low, high = (cartridge.capacity_factor(z, cv, housings) for z in (0.0, 1.0))
    law = lognorm(math.log(high / low), scale=low)
    assert law.mean() == pytest.approx(1.0, rel=1e-12)
    assert law.std() == pytest.approx(cv / math.sqrt(housings), rel=1e-12)


def test_like_cartridges_without_spread_are_alike():
    assert cartridge.capacity_factor(2.7, 0.0, 1.0) == 1.0


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
