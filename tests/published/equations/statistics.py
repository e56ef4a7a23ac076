"""Intervals, bounds and scores, in the names of the published cases."""

from statistics import NormalDist

import numpy as np

from sim.diary.score import crps
from sim.study.statistics.intervals import mean_interval, proportion_interval
from sim.study.statistics.rare import rare_interval
from tests.published.equations.register import equation


def sample(n, mean, sd):
    """A sample of this mean and standard deviation; the interval asks for no more of it."""
    rising = np.linspace(-1.0, 1.0, int(n))
    return mean + sd * rising / rising.std(ddof=1)


@equation
def student_t(degrees, percent):
    """Half the width of the interval, in standard errors of a sample of one degree more."""
    n = int(degrees) + 1
    return mean_interval(sample(n, 0.0, 1.0), percent / 100).half_width * np.sqrt(n)


@equation
def mean_bounds(n, mean, sd, percent):
    found = mean_interval(sample(n, mean, sd), percent / 100)
    return [found.low, found.high]


@equation
def share_bounds(seen, n, percent):
    found = proportion_interval(int(seen), int(n), percent / 100)
    return [found.low, found.high]


@equation
def count_bounds(count, percent):
    """Bounds of a Poisson count: that many runs of a hundred had one each."""
    runs = np.zeros(100)
    runs[: int(count)] = 1.0
    found = rare_interval(runs, 1.0, percent / 100)
    return [runs.size * found.low, runs.size * found.high]


@equation
def crps_of_normal(came, members):
    """Score of an ensemble that stands for the standard normal law: its quantiles, evenly in probability."""
    shares = (np.arange(int(members)) + 0.5) / int(members)
    return crps([NormalDist().inv_cdf(share) for share in shares], came)
