"""Age replacement of a part with Weibull life (Barlow & Hunter 1960), from the lives the simulation draws.

Cost rate C(T) = (c_p R(T) + c_f F(T)) / integral of R from 0 to T, built here from `lamp.weibull_life_s` by
integrating over its unit exponential, E[min(life, T)], so a wrong life law cannot pass.
Grades: S seen, M from memory, C computed independently.
"""

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import weibull_min

from sim.plant import lamp
from tests.published.equations.parts import cost_rate, mean_power_of_age


def test_a_part_without_memory_is_not_worth_replacing_early():
    """Theory: with shape 1 the cost rate falls with age for ever, towards c_f/mean."""
    rates = [cost_rate(t, 1000.0, 1.0, 1.0, 5.0) for t in (100.0, 300.0, 1000.0, 3000.0, 10_000.0)]
    assert (np.diff(rates) < 0).all()
    assert rates[-1] == pytest.approx(5.0 / 1000.0, rel=1e-3)


@pytest.mark.parametrize("shape", [0.8, 1.0, 2.0, 3.7])
def test_life_is_the_weibull_quantile_of_its_draw(shape):
    for e in (0.01, 0.3, 1.0, 2.5, 7.0):
        quantile = weibull_min.isf(math.exp(-e), shape, scale=9000.0)
        assert lamp.weibull_life_s(e, 9000.0, shape) == pytest.approx(quantile, rel=1e-9)


@pytest.mark.parametrize("age", [493.047, 1000.0])
def test_drawn_lives_have_the_mean_of_theory(age):
    """Mean of min(life, T) over 40,000 draws, within 4 standard errors of the known variance, fixed seed."""
    draws = np.random.default_rng(20_240_229).exponential(size=40_000)
    lived = np.array([min(lamp.weibull_life_s(e, 1000.0, 2.5), age) for e in draws])
    # theory by scipy's Weibull, not by our life law
    part = weibull_min(2.5, scale=1000.0)
    mean, _ = quad(part.sf, 0.0, age)
    second, _ = quad(lambda t: 2 * t * part.sf(t), 0.0, age)
    error = math.sqrt((second - mean**2) / draws.size)
    assert abs(lived.mean() - mean) <= 4 * error


@pytest.mark.parametrize("power", [1, 2])
def test_moments_are_those_of_the_gamma_function(power):
    moment = mean_power_of_age(1e4, 1000.0, 2.5, power)  # no life is longer than ten scales
    assert moment == pytest.approx(1000.0**power * math.gamma(1 + power / 2.5), rel=1e-9)
