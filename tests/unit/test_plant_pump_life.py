"""Life of a pump: three competing Weibull causes against scipy's Weibull law and against plain minima."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import kstest, weibull_min

from sim.plant import lamp, pump, pump_life
from sim.scenario.read.load import built_in, load

YEAR = 365.25 * 86400.0
SCALES = (14.0 * YEAR, 20_000 * 3600.0, 5e5)  # by age [s], by running [s], by starts
SHAPE = 2.5


def survival(age_s, run_share, starts_per_s):
    """Chance to outlive an age: the product of the chances to outlive each cause."""
    uses = (age_s, age_s * run_share, age_s * starts_per_s)
    return math.prod(weibull_min.sf(use, SHAPE, scale=scale) for use, scale in zip(uses, SCALES, strict=True))


USES = [(0.0, 0.0), (0.006, 1_700 / YEAR), (0.01, 120_000 / YEAR), (0.6, 0.0), (0.9, 3e5 / YEAR)]


@pytest.mark.parametrize(("run_share", "starts_per_s"), USES)
@pytest.mark.parametrize("age_years", [0.5, 4.0, 12.0, 30.0])
def test_one_draw_stands_for_the_least_of_three_lives(run_share, starts_per_s, age_years):
    """The pump whose draw is E dies where the product of the three survivals has fallen to exp(-E)."""
    age_s = age_years * YEAR
    worn_s = pump_life.equivalent_age_s(
        age_s, age_s * run_share, age_s * starts_per_s, *SCALES, SHAPE
    )  # the life by age alone of the pump that dies now
    assert weibull_min.sf(worn_s, SHAPE, scale=SCALES[0]) == pytest.approx(
        survival(age_s, run_share, starts_per_s), rel=1e-9
    )


@pytest.mark.parametrize(("run_share", "starts_per_s"), USES)
def test_even_use_gives_a_weibull_law_of_the_stated_scale(run_share, starts_per_s):
    scale_s = pump_life.life_scale_s(run_share, starts_per_s, *SCALES, SHAPE)
    for share in (0.2, 1.0, 1.7):
        expected = survival(share * scale_s, run_share, starts_per_s)
        assert math.exp(-(share**SHAPE)) == pytest.approx(expected, rel=1e-9)
    median_s = brentq(lambda t: survival(t, run_share, starts_per_s) - 0.5, 1.0, 1e11)
    assert lamp.weibull_life_s(math.log(2.0), scale_s, SHAPE) == pytest.approx(median_s, rel=1e-9)


def test_drawn_lives_are_those_of_the_least_of_three_drawn_apart():
    """4,000 pumps by one draw each, against the least of three scipy draws each (Kolmogorov, 1 %)."""
    rng, run_share, rate = np.random.default_rng(12), 0.3, 30_000 / YEAR
    scale_s = pump_life.life_scale_s(run_share, rate, *SCALES, SHAPE)
    ours = [lamp.weibull_life_s(e, scale_s, SHAPE) for e in rng.exponential(size=4000)]
    rates = np.array([1.0, run_share, rate])
    apart = (weibull_min.rvs(SHAPE, size=(4000, 3), random_state=rng) * np.array(SCALES) / rates).min(axis=1)
    assert kstest(ours, apart).pvalue > 0.01


def test_each_cause_alone_ends_the_life_at_its_own_scale():
    assert pump_life.equivalent_age_s(SCALES[0], 0.0, 0.0, *SCALES, SHAPE) == pytest.approx(SCALES[0])
    assert pump_life.equivalent_age_s(0.0, SCALES[1], 0.0, *SCALES, SHAPE) == pytest.approx(SCALES[0])
    assert pump_life.equivalent_age_s(0.0, 0.0, SCALES[2], *SCALES, SHAPE) == pytest.approx(SCALES[0])


def test_an_age_by_hand():
    # shape 2, 3 years by age and as much as 4 by starts: 5 years, as in a right-angled triangle
    found = pump_life.equivalent_age_s(3.0, 0.0, 40.0, 10.0, 1.0, 100.0, 2.0)
    assert found == pytest.approx(5.0, rel=1e-12)


@pytest.mark.parametrize("site", built_in())
def test_the_numbers_of_the_sites_are_what_pages_say(site):
    """Half by 12 years, nine in ten at 4 to 22 ("about 10 years, 4 to 20", trade pages: opinion)."""
    of = load(site).pump
    alone = weibull_min(of.life_shape, scale=of.life_age_s / YEAR)
    assert alone.median() == pytest.approx(12.1, abs=0.05)
    assert alone.ppf([0.05, 0.95]) == pytest.approx([4.3, 21.7], abs=0.05)


def test_short_runs_count_on_top():
    assert pump_life.counted_starts(100.0, 0.0, 3.0) == 100.0
    assert pump_life.counted_starts(100.0, 25.0, 2.0) == 150.0


@pytest.mark.parametrize("required_m", [1.0, 3.0, 6.0])
def test_at_the_depth_of_cavitation_the_pump_has_just_what_it_needs(required_m):
    water = (101325.0, 2339.3, 998.2)
    depth_m = pump_life.cavitation_depth_m(*water, 8.0, 0.4, required_m)
    lift_m = 8.0 - depth_m
    assert pump.npsh_available_m(*water, lift_m, 0.4) == pytest.approx(required_m, rel=1e-12)
    assert pump.npsh_available_m(*water, lift_m - 0.1, 0.4) > required_m
