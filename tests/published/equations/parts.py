"""Replacement theory and queue, in the names and units of the published cases."""

import math
from functools import cache

import numpy as np
import simpy
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
    return mean_power_of_age(10.0 * scale, scale, shape)


# --- queue: the resource that crews use ---
def stays(arrivals, services, crew):
    """Return when jobs came, how long they waited and how long they stayed, in the order they came."""
    env = simpy.Environment()
    technician = simpy.Resource(env, capacity=int(crew))
    found = []

    def job(came, service):
        yield env.timeout(came)
        with technician.request() as turn:
            yield turn
            waited = env.now - came
            yield env.timeout(service)
        found.append((came, waited, env.now - came))

    for came, service in zip(arrivals, services, strict=True):
        env.process(job(came, service))
    env.run()
    return np.array(sorted(found))


@equation
def waits(arrivals, services, crew):
    return stays(arrivals, services, crew)[:, 1]


@cache
def shop():
    """Jobs at random, one every 1.25 min, each of 1 min on average, at one technician: 160,000 of them."""
    rng = np.random.default_rng(2601)
    jobs = 160_000
    return stays(np.cumsum(rng.exponential(1.25, jobs)), rng.exponential(1.0, jobs), 1)[2_000:]


@equation
def random_shop(of):
    found = shop()
    return float({"wait": found[:, 1], "stay": found[:, 2]}[of].mean())
