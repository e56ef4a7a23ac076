"""Weights of draws by part and path: no single weight for the whole house, which would collapse."""

from collections.abc import Callable
from dataclasses import dataclass
from math import lgamma, log, pi

import numpy as np
import numpy.typing as npt
from scipy.linalg import solve_triangular
from scipy.special import logsumexp

from sim.diary.parts.axes import Floats, spread_evenly

Ints = npt.NDArray[np.int64]
DRAWS_A_PATH = 128
WANTED_SIZE = 800.0  # effective draws; below it more are made near those that fit
ROUNDS = 3
_WIDER = 1.3  # a proposal is wider than what it is made from
_DEGREES = 5.0  # of freedom of its t
Likelihood = Callable[[Floats, Ints], Floats]


@dataclass(frozen=True)
class Proposal:
    """Where draws of a later round come from: a t about a centre, on paths by chance."""

    centre: Floats
    root: Floats  # lower triangular
    log_chance: Floats  # of each path

    def draw(self, count: int, rng: np.random.Generator) -> tuple[Floats, Ints]:
        """Draw numbers and paths."""
        path = rng.choice(self.log_chance.size, count, p=np.exp(self.log_chance)).astype(np.int64)
        tail = np.sqrt(_DEGREES / rng.chisquare(_DEGREES, count))
        off = (rng.standard_normal((count, self.centre.size)) @ self.root.T) * tail[:, None]
        return self.centre + off, path

    def log_density(self, z: Floats, path: Ints) -> Floats:
        """Return the log density of draws."""
        size = self.centre.size
        scaled = solve_triangular(self.root, (z - self.centre).T, lower=True)
        norm = lgamma(0.5 * (_DEGREES + size)) - lgamma(0.5 * _DEGREES) - 0.5 * size * log(_DEGREES * pi)
        norm -= float(np.log(np.diag(self.root)).sum())
        length = np.log1p((scaled**2).sum(axis=0) / _DEGREES)
        return np.asarray(norm - 0.5 * (_DEGREES + size) * length + self.log_chance[path])


@dataclass(frozen=True)
class Cloud:
    """Draws of one part, each on a path.

    Attributes
    ----------
    z : ndarray
        Standard normal numbers, shape (draws, axes).
    path : ndarray
        Path of each draw.
    log_likelihood : ndarray
        Of each draw, tempered.
    log_share : ndarray
        Log of prior over the mixture the draws come from; 0 while all come from the prior.
    rounds : tuple of Proposal
        Where draws beyond the prior's come from, as many from each as from the prior.
    paths : int
        Number of paths.
    """

    z: Floats
    path: Ints
    log_likelihood: Floats
    log_share: Floats
    rounds: tuple[Proposal, ...]
    paths: int

    def evidence(self) -> Floats:
        """Return the log of the mean likelihood on each path."""
        joined = self.log_share + self.log_likelihood
        top = float(joined.max())
        mass = np.bincount(self.path, np.exp(joined - top), minlength=self.paths)
        return np.asarray(np.log(np.maximum(mass, 1e-300)) + top - log(self.path.size / self.paths))

    def log_weights(self, of_paths: Floats) -> Floats:
        """Return normalised log weights, given those of the paths by all that is not this part."""
        found = self.log_share + self.log_likelihood + of_paths[self.path]
        return np.asarray(found - logsumexp(found))


def effective_size(log_weights: Floats) -> float:
    """Return how many equal draws would say as much: 1 over the sum of squared weights.

    Examples
    --------
    >>> effective_size(np.log([0.5, 0.5, 1e-300]))
    2.0
    """
    return float(np.exp(2.0 * logsumexp(log_weights) - logsumexp(2.0 * log_weights)))


def first(
    likelihood: Likelihood, axes: int, paths: int, seed: int, draws_a_path: int = DRAWS_A_PATH
) -> Cloud:
    """Return draws from the prior, the same number on every path."""
    z = spread_evenly(paths * draws_a_path, axes, seed)
    path = np.tile(np.arange(paths, dtype=np.int64), draws_a_path)
    return Cloud(z, path, likelihood(z, path), np.zeros(path.size), (), paths)


def nearer(cloud: Cloud, likelihood: Likelihood, of_paths: Floats, seed: int) -> Cloud:
    """Return the draws with as many again, made near those that fit; each weighs by prior over mixture.

    Parameters
    ----------
    of_paths : ndarray
        Log weight of each path by all that is not this part.

    References
    ----------
    Deterministic mixture weights: Owen & Zhou 2000, J. Am. Stat. Assoc. 95:135 (from memory).
    """
    rng = np.random.default_rng(np.random.SeedSequence((seed, len(cloud.rounds))))
    count = cloud.path.size // (1 + len(cloud.rounds))
    new = _proposal(cloud, of_paths)
    z, path = new.draw(count, rng)
    every_z, every_path = np.vstack([cloud.z, z]), np.append(cloud.path, path)
    rounds = (*cloud.rounds, new)
    prior = -0.5 * (every_z**2).sum(axis=1) - 0.5 * every_z.shape[1] * log(2.0 * pi) - log(cloud.paths)
    mixed = logsumexp([prior, *(one.log_density(every_z, every_path) for one in rounds)], axis=0)
    share = prior - mixed + log(1 + len(rounds))
    found = np.append(cloud.log_likelihood, likelihood(z, path))
    return Cloud(every_z, every_path, found, share, rounds, cloud.paths)


def _proposal(cloud: Cloud, of_paths: Floats) -> Proposal:
    """Return a proposal about the weighted draws; few of them say little of how they lie together."""
    log_weight = cloud.log_weights(of_paths)
    weight = np.exp(log_weight)
    centre = weight @ cloud.z
    off = cloud.z - centre
    spread = (off * weight[:, None]).T @ off
    held = min(1.0, effective_size(log_weight) / (10.0 * centre.size))
    alone = np.diag(np.maximum(np.diag(spread), 0.05))
    spread = _WIDER**2 * (held * spread + (1.0 - held) * alone) + 1e-3 * np.eye(centre.size)
    chance = 0.8 * np.bincount(cloud.path, weight, minlength=cloud.paths) + 0.2 / cloud.paths
    root = np.asarray(np.linalg.cholesky(spread), dtype=np.float64)
    return Proposal(centre, root, np.log(chance / chance.sum()))


def chosen(log_weights: Floats, count: int, seed: int) -> Ints:
    """Return numbers of draws, each as often as it weighs, by systematic resampling.

    References
    ----------
    Kitagawa 1996, J. Comput. Graph. Stat. 5:1.
    """
    start = np.random.default_rng(np.random.SeedSequence(seed)).random()
    mass = np.cumsum(np.exp(log_weights - logsumexp(log_weights)))
    places = (start + np.arange(count)) / count * mass[-1]
    found = np.searchsorted(mass, places, side="right")
    return np.asarray(np.minimum(found, log_weights.size - 1), dtype=np.int64)
