"""From readings to weighted draws: each part along every path, parts through the paths they share."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.special import logsumexp

from sim.diary import weights
from sim.diary.parts import stage as stages
from sim.diary.parts import uv
from sim.diary.parts.axes import SETTLING_DAYS, Floats
from sim.diary.parts.stage import Drops, StagePart
from sim.diary.parts.uv import Moments, UvPart
from sim.diary.paths import Paths
from sim.diary.weights import Cloud, Ints
from sim.scenario.scenario import Scenario
from sim.scenario.values.variants import spans

# Correlation of the misfit of two readings of one part between renewals [A]; recorded filters ask for 0.15.
CORRELATED_DROPS, CORRELATED_LIGHT = 0.15, 0.2
OLDER = 0.6  # weight of a span between renewals over that of the span after it [A]
KEPT = 4000  # draws that stand for the part from here on, all alike
_SEED = 1_618_033  # of draws of parts


@dataclass(frozen=True)
class Evidence:
    """Readings and services, ready for the parts.

    Attributes
    ----------
    drops : tuple of Drops
        By stage.
    renewals : tuple of ndarray
        Noted changes and rinses of each stage, as in `sim.diary.parts.stage.along`.
    uv : Moments
        Readings and services of the UV unit.
    of_paths : ndarray
        Log likelihood of each path by what no part bears on, such as the meter.
    """

    drops: tuple[Drops, ...]
    renewals: tuple[Floats, ...]
    uv: Moments
    of_paths: Floats


@dataclass(frozen=True)
class Posterior:
    """Draws of one part after the readings, all alike.

    Attributes
    ----------
    draws : mapping of str to ndarray
        Values of what was not known.
    path : ndarray
        Path of each draw.
    z : ndarray
        Standard normal numbers behind the values.
    size : float
        Effective number of draws they were taken from.
    log_evidence : float
        Log of the mean likelihood over all that was possible before the readings, given the other parts.
    """

    draws: Mapping[str, Floats]
    path: Ints
    z: Floats
    size: float
    log_evidence: float


@dataclass(frozen=True)
class Inferred:
    """All parts after the readings.

    Attributes
    ----------
    stages : tuple of Posterior
        By stage.
    uv : Posterior
        Of the UV unit.
    paths_count : float
        Effective number of paths.
    """

    stages: tuple[Posterior, ...]
    uv: Posterior
    paths_count: float


@dataclass(frozen=True)
class Parts:
    """The parts of a site whose wear is followed."""

    stages: tuple[StagePart, ...]
    uv: UvPart


def parts_of(scenario: Scenario, settled_days: float = SETTLING_DAYS) -> Parts:
    """Return the parts of a site, of any age so many days after the begin of the paths."""
    found = {span.key: span for span in spans(scenario)}
    return Parts(
        tuple(
            stages.stage_part(scenario, number, found, settled_days) for number in range(len(scenario.stages))
        ),
        uv.uv_part(scenario, found, settled_days),
    )


def tempers(at_days: Floats, renewed_days: Floats, correlated_share: float) -> Floats:
    """Return the weight of each reading and the power of its density, above 0 to 1, shape (2, readings).

    Notes
    -----
    The power is 1/(1 + (m - 1) rho) for m readings between two renewals: what the model lacks they lack
    alike. The weight is a factor for every later span between renewals that has readings: the present one
    says most of the present.
    """
    if not at_days.size:
        return np.zeros((2, 0))
    span = np.searchsorted(renewed_days, at_days, side="right")
    spans_read, place, count = np.unique(span, return_inverse=True, return_counts=True)
    later = spans_read.size - 1 - place
    return np.vstack([OLDER**later, 1.0 / (1.0 + (count[place] - 1.0) * correlated_share)])


def infer(
    parts: Parts, paths: Paths, evidence: Evidence, draws_a_path: int = weights.DRAWS_A_PATH
) -> Inferred:
    """Return the parts after the readings."""
    likelihoods: list[weights.Likelihood] = []
    sizes: list[int] = []
    for part, drops, changed in zip(parts.stages, evidence.drops, evidence.renewals, strict=True):
        likelihoods.append(_of_stage(part, paths, drops, changed))
        sizes.append(len(part.axes))
    likelihoods.append(_of_uv(parts.uv, paths, evidence.uv))
    sizes.append(len(parts.uv.axes))
    clouds = [
        weights.first(likelihood, axes, paths.count, _SEED + k, draws_a_path)
        for k, (likelihood, axes) in enumerate(zip(likelihoods, sizes, strict=True))
    ]
    for _ in range(weights.ROUNDS):
        others = _others(clouds, evidence.of_paths)
        small = [
            k
            for k, cloud in enumerate(clouds)
            if weights.effective_size(cloud.log_weights(others[k])) < weights.WANTED_SIZE
        ]
        if not small:
            break
        for k in small:
            clouds[k] = weights.nearer(clouds[k], likelihoods[k], others[k], _SEED + k)
    others = _others(clouds, evidence.of_paths)
    whole = evidence.of_paths + sum(cloud.evidence() for cloud in clouds)
    every: list[StagePart | UvPart] = [*parts.stages, parts.uv]
    found = [
        _kept(cloud, other, part, k)
        for k, (cloud, other, part) in enumerate(zip(clouds, others, every, strict=True))
    ]
    return Inferred(tuple(found[:-1]), found[-1], weights.effective_size(whole))


def _others(clouds: list[Cloud], of_paths: Floats) -> list[Floats]:
    """Return, for each part, the log weight of the paths by all that is not this part."""
    own = [cloud.evidence() for cloud in clouds]
    whole = of_paths + sum(own)
    return [whole - one for one in own]


def _kept(cloud: Cloud, of_paths: Floats, part: StagePart | UvPart, number: int) -> Posterior:
    log_weights = cloud.log_weights(of_paths)
    picked = weights.chosen(log_weights, KEPT, _SEED + number)
    own = cloud.log_share + cloud.log_likelihood + of_paths[cloud.path]
    return Posterior(
        part.draws(cloud.z[picked]),
        cloud.path[picked],
        cloud.z[picked],
        weights.effective_size(log_weights),
        float(logsumexp(own) - np.log(own.size) - logsumexp(of_paths) + np.log(of_paths.size)),
    )


def _of_stage(part: StagePart, paths: Paths, drops: Drops, renewals: Floats) -> weights.Likelihood:
    found = stages.along(part, paths, drops.at_days, renewals)
    temper = tempers(drops.at_days, renewals[:, 0], CORRELATED_DROPS)

    def likelihood(z: Floats, path: Ints) -> Floats:
        return stages.logs(part, part.draws(z), path, found, drops, paths, temper)[0]

    return likelihood


def _of_uv(part: UvPart, paths: Paths, found: Moments) -> weights.Likelihood:
    renewed = found.at_days[found.kind > uv.LAST_READ]
    temper = tempers(found.at_days[found.kind <= uv.LAST_READ], renewed, CORRELATED_LIGHT).prod(axis=0)

    def likelihood(z: Floats, path: Ints) -> Floats:
        return uv.logs(part, part.draws(z), path, found, paths, temper)[0]

    return likelihood
