"""Stopping on what was seen: toys go through the rule a study uses; its last intervals must hold the truth.

A rule that stops when the spread seen is small stops more often where it was seen too small. What a stopped
study reports must all the same hold the truth 94 to 96 times in 100, and no less often than Student's
interval after as many runs that nothing but the asking settled.
"""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from sim.study.runs.replicate import _Stop
from sim.study.statistics import intervals
from sim.study.statistics.stopped import stopped_interval

SAMPLE, TRIALS = 100, 5_000
CAP = 400
LOW, HIGH = 0.94, 0.96


def toy(generator, truth, draw, runs):
    """Yearly costs of a reference and of others, dearer by what is given, on shared weather."""
    weather = draw(generator, runs)
    return [weather, *(weather + mean + draw(generator, runs) for mean in truth)]


def stopped(generator, truth, within, draw):
    """Run one toy study to its stop; return whether its intervals then hold, and the runs it took."""
    names = ["reference", *(f"policy {number}" for number in range(len(truth)))]
    design = SimpleNamespace(
        policies=[SimpleNamespace(name=name) for name in names],
        scenario=SimpleNamespace(prices=SimpleNamespace(currency="USD")),
    )
    costs = toy(generator, truth, draw, CAP)
    runs = 0
    runner = SimpleNamespace(
        designs=(design,),
        knows=lambda design, policies, number: number < runs,
        value=lambda design, policy, number, column: float(costs[policy][number]),
    )
    stop = _Stop(runner, "reference", within)
    while runs < CAP:
        runs += 1
        if stop():
            break
    return all_hold(costs, truth, runs, stopped_interval), runs


def all_hold(costs, truth, runs, interval):
    each = intervals.bonferroni(0.95, len(truth))
    found = [interval(cost[:runs], costs[0][:runs], each) for cost in costs[1:]]
    return all(one.low <= mean <= one.high for one, mean in zip(found, truth, strict=True))


def normal(generator, size):
    return generator.normal(0.0, 60.0, size)


def laplace(generator, size):
    """Even, with heavy tails (kurtosis 6), deviation 60."""
    return generator.laplace(0.0, 60.0 / math.sqrt(2.0), size)


def cost_like(generator, size):
    """Gamma of shape 4, skewness 1, as cost differences of the demonstration house have; deviation 60."""
    return (generator.gamma(4.0, 1.0, size) - 4.0) * 30.0


def turned(generator, size):
    return -cost_like(generator, size)


def very_skewed(generator, size):
    """Exponential, skewness 2, deviation 60."""
    return (generator.exponential(1.0, size) - 1.0) * 60.0


def coverage(trials, truth, within, draw, seed):
    """Return how often a stopped study covers, a fixed one of as many runs, and the mean of these."""
    generator = np.random.default_rng(seed)
    kept, lengths = zip(*(stopped(generator, truth, within, draw) for _ in range(trials)), strict=True)
    runs = round(float(np.mean(lengths)))
    fixed = [
        all_hold(toy(generator, truth, draw, runs), truth, runs, intervals.paired_interval)
        for _ in range(trials)
    ]
    return float(np.mean(kept)), float(np.mean(fixed)), runs


TOYS = [
    # truth of the differences, half-width wanted, law of the runs (deviation 60), least coverage asked
    pytest.param((85.0,), 40.0, normal, LOW, id="normal, some twenty runs"),
    pytest.param((85.0,), 25.0, normal, LOW, id="normal, some thirty runs"),
    pytest.param((0.0,), 16.0, normal, LOW, id="normal, some sixty runs"),
    pytest.param((10.0, -20.0, 0.0), 30.0, normal, LOW, id="three normal policies together"),
    pytest.param((85.0,), 25.0, cost_like, LOW, id="skewed, some thirty runs"),
    pytest.param((85.0,), 20.0, cost_like, LOW, id="skewed, some forty runs"),
    pytest.param((85.0,), 20.0, turned, LOW, id="skewed to the other side"),
    pytest.param((0.0,), 12.0, cost_like, LOW, id="skewed, some hundred runs"),
    pytest.param((85.0,), 20.0, laplace, LOW, id="heavy tails"),
    # At a skewness of 2 no interval of so few runs is sure; held here so that it stays said.
    pytest.param((85.0,), 16.0, very_skewed, 0.93, id="very skewed"),
]


def room(trials):
    """Return what chance may take from a share of so many trials."""
    return 3.0 * math.sqrt(LOW * (1.0 - LOW) / trials)


@pytest.mark.parametrize(("truth", "within", "draw", "least"), TOYS)
def test_a_stopped_study_covers(truth, within, draw, least):
    found, _, runs = coverage(SAMPLE, truth, within, draw, 301)
    assert found >= least - room(SAMPLE)
    assert 20 < runs < CAP


@pytest.mark.long
@pytest.mark.parametrize(("truth", "within", "draw", "least"), TOYS)
def test_a_stopped_study_covers_over_many_trials(truth, within, draw, least, record_property):
    found, fixed, runs = coverage(TRIALS, truth, within, draw, 302)
    record_property("coverage", f"{100 * found:.1f} %")
    record_property("coverage of a fixed number", f"{100 * fixed:.1f} %")
    record_property("mean runs", str(runs))
    assert least <= found <= HIGH, (found, fixed, runs)
    assert found >= fixed - math.sqrt(2.0) * room(TRIALS), (found, fixed, runs)
