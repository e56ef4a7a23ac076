"""Weather that holds: what it leaves alone, and what is certain stays certain."""

import numpy as np
import pytest
from scipy.special import digamma, expit, gamma

from sim.scenario.climate import climates, table
from sim.scenario.read.load import load
from sim.supply.generator import RainStatistics, generate
from sim.supply.weather import STEADY, USUAL, Weather, condition
from sim.twin import rainfall

HERMITE, WEIGHT = np.polynomial.hermite_e.hermegauss(60)
WEIGHT = WEIGHT / WEIGHT.sum()


def conditioned(climate, weather):
    found = table(climate)
    return found, condition(
        *(found[k] for k in ("p_wet_after_dry", "p_wet_after_wet", "shape", "scale_m")), weather
    )


@pytest.mark.parametrize("climate", climates())
def test_steady_weather_leaves_the_table_as_it_is(climate):
    found, middle = conditioned(climate, STEADY)
    np.testing.assert_allclose(expit(middle.after_dry), found["p_wet_after_dry"], rtol=1e-12)
    np.testing.assert_allclose(expit(middle.after_wet), found["p_wet_after_wet"], rtol=1e-12)
    assert np.all(middle.power == 1.0) and middle.scale_m is found["scale_m"]


@pytest.mark.parametrize("climate", climates())
def test_without_memory_chances_are_means_over_a_normal_state(climate):
    """The state is new each day, so a chance is the mean of a logistic over a normal (Gauss-Hermite, 60).

    The grid of states ends at 5 standard deviations and leaves out 6e-7 of the normal law.
    """
    found, middle = conditioned(climate, Weather(0.01, 0.9, 0.3))
    for after, wanted in ((middle.after_dry, "p_wet_after_dry"), (middle.after_wet, "p_wet_after_wet")):
        np.testing.assert_allclose(expit(after[:, None] + 0.9 * HERMITE) @ WEIGHT, found[wanted], atol=1e-5)


@pytest.mark.parametrize("climate", climates())
def test_without_memory_depths_keep_mean_and_mean_logarithm(climate):
    """Mean over wet days of exp(d x) and of d x by the same quadrature; the gamma law gives the rest.

    A state at the end of the grid weighs up to exp(5 (0.9 + 0.3)) = 400 of the middle one, so what the grid
    leaves out is worth at most 400 x 6e-7.
    """
    found, middle = conditioned(climate, Weather(0.01, 0.9, 0.3))
    share = found["p_wet_after_dry"] / (1.0 + found["p_wet_after_dry"] - found["p_wet_after_wet"])
    wet = (1.0 - share)[:, None] * expit(middle.after_dry[:, None] + 0.9 * HERMITE)
    wet += share[:, None] * expit(middle.after_wet[:, None] + 0.9 * HERMITE)
    wet = wet * WEIGHT / (wet @ WEIGHT)[:, None]
    shape = found["shape"]
    mean_m = gamma(shape + middle.power) / gamma(shape) * middle.scale_m * (wet @ np.exp(0.3 * HERMITE))
    np.testing.assert_allclose(mean_m, found["shape"] * found["scale_m"], rtol=2.4e-4)
    log_m = middle.power * digamma(shape) + np.log(middle.scale_m) + 0.3 * (wet @ HERMITE)
    np.testing.assert_allclose(log_m, digamma(found["shape"]) + np.log(found["scale_m"]), atol=2.4e-4)


def test_what_is_certain_stays_certain():
    """July always wet, other months never, in any weather."""
    july = np.where(np.arange(12) == 6, 1.0, 0.0)
    stats = RainStatistics(july, july, np.ones(12), np.full(12, 1e-3), Weather(20.0, 2.0, 0.5))
    month = np.repeat(np.arange(12), 30)
    np.testing.assert_array_equal(generate(stats, month, np.random.default_rng(1)) > 0.0, month == 6)


def test_depths_that_spread_less_than_the_state_are_all_alike_within_it():
    """Shape 40 spreads its logarithms by 1/40, the state by 0.64: the state alone is left, mean kept."""
    middle = condition(
        np.full(12, 0.3), np.full(12, 0.6), np.full(12, 40.0), np.full(12, 1e-4), Weather(0.01, 0.0, 0.8)
    )
    assert np.all(middle.power < 1e-3)
    np.testing.assert_allclose(middle.scale_m * np.exp(0.5 * 0.8**2), 4e-3, rtol=1e-3)  # mean of a lognormal


@pytest.mark.parametrize("weather", [USUAL, Weather(60.0, 1.2, 0.4)])
def test_weather_moves_nothing_where_it_has_no_spread(weather):
    assert weather.moves
    assert not Weather(weather.memory_days, 0.0, 0.0).moves
    assert Weather(weather.memory_days, 0.1, 0.0).moves and Weather(weather.memory_days, 0.0, 0.1).moves


def test_sites_start_from_the_usual_weather():
    """base.toml states the numbers the fit begins with."""
    for site in ("cottage", "family_house", "training_hall"):
        assert rainfall.weather(load(site).rain) == USUAL
        assert rainfall.statistics(load(site).rain).weather == USUAL
