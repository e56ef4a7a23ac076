"""Replacement theory, in the names and units of the published cases."""

import math

from scipy.integrate import quad
from scipy.optimize import brentq, minimize_scalar

from sim.plant import lamp
from tests.published.equations.register import equation


# --- replacement theory: built from the life law the simulation draws with, so a wrong law cannot pass ---
def draw_of(age, scale, shape):
    """The unit exponential whose life is this age."""
    return brentq(lambda e: lamp.weibull_life_s(e, scale, shape) - age, 0.0, 700.0, xtol=1e-15, rtol=1e-14)


def mean_power_of_age(age, scale, shape, power=1):
    """E[min(life, age)^power] over the exponential draw."""
    kink = draw_of(age, scale, shape)
    lived, _ = quad(
        lambda e: lamp.weibull_life_s(e, scale, shape) ** power * math.exp(-e),
        0.0,
        kink,
        epsabs=0,
        epsrel=1e-12,
    )
    return lived + age**power * math.exp(-kink)


@equation
def cost_rate(age, scale, shape, planned, failed):
    survives = math.exp(-draw_of(age, scale, shape))
    return (planned * survives + failed * (1 - survives)) / mean_power_of_age(age, scale, shape)


@equation
def best_age(scale, shape, planned, failed, of):
    found = minimize_scalar(
        lambda t: cost_rate(t, scale, shape, planned, failed),
        bounds=(0.05 * scale, 2.0 * scale),
        method="bounded",
        options={"xatol": 1e-7 * scale},
    )
    return {"age": found.x, "cost rate": found.fun}[of]


@equation
def weibull_mean(scale, shape):
    beyond_any = 60.0  # of the unit exponential: one in 1e26 is more
    return quad(lambda e: lamp.weibull_life_s(e, scale, shape) * math.exp(-e), 0.0, beyond_any, limit=200)[0]


@equation
def weibull_survival(age, scale, shape):
    return math.exp(-draw_of(age, scale, shape))
