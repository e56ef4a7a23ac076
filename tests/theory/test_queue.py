"""Jobs waiting for one technician: the simpy resource that crews use against closed forms of the M/M/1 queue.

Kelton, Smith & Sturrock, problem 2.6.1 (second-hand, from worked solutions): a job every 1.25 min on average,
of 1 min, gives rho = 0.8, L = 4, W = 5 min, L_q = 3.2, W_q = 4 min.
"""

import math
from dataclasses import dataclass, field

import numpy as np
import pytest
import simpy
from scipy import stats

from sim.study.statistics.intervals import mean_interval

ARRIVAL_PER_MIN = 0.8
SERVICE_PER_MIN = 1.0
RHO = ARRIVAL_PER_MIN / SERVICE_PER_MIN
WARM_UP_MIN = 2_000.0
BATCH_MIN = 5_000.0
BATCHES = 40


@dataclass
class Shop:
    """Jobs that come to one technician, with what is needed for the means."""

    env: simpy.Environment
    technician: simpy.Resource
    jobs: int = 0
    changed_min: float = 0.0
    area: float = 0.0
    areas: list[float] = field(default_factory=list)
    busy_min: float = 0.0
    stays: list[tuple[float, float, float]] = field(default_factory=list)

    def count(self, change):
        """Bring the area under the number of jobs up to now, then change the number."""
        self.area += self.jobs * (self.env.now - self.changed_min)
        self.changed_min = self.env.now
        self.jobs += change


def arrivals(shop, generator):
    while True:
        yield shop.env.timeout(generator.exponential(1 / ARRIVAL_PER_MIN))
        shop.env.process(job(shop, generator.exponential(1 / SERVICE_PER_MIN)))


def job(shop, service_min):
    came = shop.env.now
    shop.count(+1)
    with shop.technician.request() as turn:
        yield turn
        began = shop.env.now
        yield shop.env.timeout(service_min)
    shop.count(-1)
    shop.stays.append((came, began - came, shop.env.now - came))


@pytest.fixture(scope="module")
def shop():
    env = simpy.Environment()
    found = Shop(env, simpy.Resource(env, capacity=1))
    env.process(arrivals(found, np.random.default_rng(2601)))
    for batch in range(BATCHES + 1):
        env.run(until=WARM_UP_MIN + batch * BATCH_MIN)
        found.count(0)
        found.areas.append(found.area)
    return found


def asymptotic_variance_of_jobs():
    """Variance of the time average of jobs times the time: 2 sum over n of F_n^2 / (arrival rate p_n).

    F_n is the sum of (i - L) p_i for i up to n: Whitt 1992, Probab. Eng. Inf. Sci. 6:45, for birth-and-death
    processes (from memory).
    """
    n = np.arange(2_000)
    chance = (1 - RHO) * RHO**n
    upto = np.cumsum((n - RHO / (1 - RHO)) * chance)
    seen = chance > 1e-12
    return 2 * np.sum(upto[seen] ** 2 / (ARRIVAL_PER_MIN * chance[seen]))


def batch_means_of_stays(shop, which):
    """Means over the jobs that came in each batch; those still there at the end are in none."""
    stays = np.array(shop.stays)
    batch = np.floor((stays[:, 0] - WARM_UP_MIN) / BATCH_MIN)
    return [stays[batch == number, which].mean() for number in range(BATCHES - 1)]


def test_the_known_variance_agrees_with_its_closed_form():
    # Whitt 1989, Manage. Sci. 35:1341, service rate 1: 2 rho (1 + rho) / (1 - rho)^4 (from memory).
    assert asymptotic_variance_of_jobs() == pytest.approx(2 * RHO * (1 + RHO) / (1 - RHO) ** 4, rel=1e-6)


def test_jobs_in_the_shop_are_as_many_as_theory_says(shop):
    # L = rho / (1 - rho) = 4, within four standard errors from the known variance over the time.
    mean = (shop.areas[-1] - shop.areas[0]) / (BATCHES * BATCH_MIN)
    error = math.sqrt(asymptotic_variance_of_jobs() / (BATCHES * BATCH_MIN))
    assert mean == pytest.approx(4.0, abs=4 * error)


def test_batch_means_vary_as_the_known_variance_says(shop):
    # Batches last 5,000 min, the queue forgets in 1 / (1 - sqrt(rho))^2 = 90 min, so batch means are nearly
    # independent and their variance over the known one is nearly chi-square / 39. The tails allowed are as
    # rare as those beyond four standard errors of a normal.
    means = np.diff(shop.areas) / BATCH_MIN
    ratio = means.var(ddof=1) / (asymptotic_variance_of_jobs() / BATCH_MIN)
    low, high = chi_square_tails(BATCHES - 1)
    assert low < ratio < high


def chi_square_tails(freedom):
    """Bounds of chi-square over its freedom, each tail as rare as four standard errors of a normal."""
    tail = stats.norm.sf(4.0)
    return stats.chi2.ppf(tail, freedom) / freedom, stats.chi2.isf(tail, freedom) / freedom


@pytest.mark.parametrize(("which", "theory"), [(1, 4.0), (2, 5.0)], ids=["wait", "stay"])
def test_jobs_wait_and_stay_as_long_as_theory_says(shop, which, theory):
    # W_q = rho / (mu - lambda) = 4 min, W = 1 / (mu - lambda) = 5 min. The interval misses as seldom as four
    # standard errors of a normal, by Student's t over nearly independent batch means.
    interval = mean_interval(batch_means_of_stays(shop, which), 1 - 2 * stats.norm.sf(4.0))
    assert interval.low < theory < interval.high
    assert interval.half_width < 0.25 * theory  # else the test could not fail


def test_jobs_are_the_arrival_rate_times_their_stay(shop):
    # Little's law L = lambda W holds on the path itself, but for the jobs at both ends of it. With 30 jobs
    # there and stays of 60 min, each rarer than 1 in 500, the areas differ by 2 x 30 x 60 of 800,000.
    area = shop.areas[-1] - shop.areas[0]
    end = WARM_UP_MIN + BATCHES * BATCH_MIN
    stayed = sum(stay for came, _, stay in shop.stays if WARM_UP_MIN <= came < end)
    assert stayed == pytest.approx(area, abs=2 * 30 * 60)
