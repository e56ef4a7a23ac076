"""Weights against what a textbook knows exactly: normal prior, normal readings, paths of two kinds."""

import numpy as np
import pytest
from scipy import stats

from sim.diary import weights
from sim.diary.parts.likelihood import t4

PATHS = 16


def posterior(reading, sd, rounds):
    def likelihood(z, path):
        return stats.norm.logpdf(reading, z[:, 0], sd)

    cloud = weights.first(likelihood, 2, PATHS, 5, 256)
    flat = np.zeros(PATHS)
    for _ in range(rounds):
        cloud = weights.nearer(cloud, likelihood, flat, 5)
    return cloud, cloud.log_weights(flat)


@pytest.mark.parametrize(("reading", "sd", "rounds"), [(0.8, 0.5, 0), (2.5, 0.05, 2), (-3.2, 0.02, 3)])
def test_the_posterior_of_a_normal_is_the_textbooks(reading, sd, rounds):
    """Gelman et al., Bayesian Data Analysis, 3rd ed., eq. 2.10: precisions add (from memory)."""
    cloud, log_weight = posterior(reading, sd, rounds)
    weight = np.exp(log_weight)
    mean = weight @ cloud.z[:, 0]
    sd_found = np.sqrt(weight @ (cloud.z[:, 0] - mean) ** 2)
    variance = 1.0 / (1.0 + 1.0 / sd**2)
    wanted = variance * reading / sd**2
    size = weights.effective_size(log_weight)
    assert size > 200
    assert abs(mean - wanted) < 4.0 * np.sqrt(variance / size)
    assert sd_found == pytest.approx(np.sqrt(variance), rel=4.0 / np.sqrt(2.0 * size))
    # evidence: the reading is normal about 0 with both variances
    found = np.log(np.mean(np.exp(cloud.evidence())))
    assert found == pytest.approx(stats.norm.logpdf(reading, 0.0, np.hypot(1.0, sd)), abs=5.0 / np.sqrt(size))


def test_paths_weigh_by_what_they_make_likely():
    def likelihood(z, path):
        return stats.norm.logpdf(1.0, z[:, 0] * 0.0 + (path % 2), 0.5)

    cloud = weights.first(likelihood, 1, PATHS, 5, 64)
    weight = np.exp(cloud.log_weights(np.zeros(PATHS)))
    odd = weight[cloud.path % 2 == 1].sum()
    assert odd == pytest.approx(1.0 / (1.0 + np.exp(-2.0)), rel=1e-9)


def test_effective_size_is_that_of_equal_draws():
    assert weights.effective_size(np.log(np.full(50, 0.02))) == pytest.approx(50.0)


def test_resampling_keeps_shares():
    shares = np.array([0.5, 0.3, 0.2])
    picked = weights.chosen(np.log(shares), 1000, 3)
    assert np.abs(np.bincount(picked) / 1000 - shares).max() <= 1.0 / 1000


def test_the_density_of_t_is_that_of_a_library():
    for x in (-3.0, 0.2, 7.5):
        assert t4(x, 0.5, 2.0) == pytest.approx(stats.t.pdf(x, 4, 0.5, 2.0), rel=1e-12)
