"""What is not known of a part, as axes of a standard normal space: where draws are made and moved."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr, ndtri
from scipy.stats import qmc

from sim.scenario.values.variants import Span

Floats = npt.NDArray[np.float64]
SETTLING_DAYS = 60  # a path runs before the first line of a diary, so that its start is forgotten [A]


@dataclass(frozen=True)
class Axis:
    """One unknown: its name and its value at standard normal numbers."""

    name: str
    at: Callable[[Floats], Floats]


def uniform(name: str, low: float, high: float) -> Axis:
    """Return an axis that is even between two bounds."""
    return Axis(name, lambda z: low + (high - low) * ndtr(z))


def head(name: str, most_days: float, settled_days: float, scale: float = 1.0) -> Axis:
    """Return an axis of the age a part had at the begin of the paths [d, or what a day is given as].

    Negative where it was fitted, or wiped, after the begin: at the first line of the diary, so many settled
    days later, the age is even from nothing to a most, as a house may have been seen to yesterday.
    """
    return uniform(name, -settled_days * scale, (most_days - settled_days) * scale)


def normal(name: str, scale: float = 1.0) -> Axis:
    """Return an axis that is normal about 0."""
    return Axis(name, lambda z: scale * z)


def of_span(name: str, span: Span | None, value: float) -> Axis:
    """Return the axis of an uncertain input, or one that holds still where the input is known."""
    if span is None:
        return Axis(name, lambda z: np.full_like(z, value))
    low, high = span.low, span.high
    if span.logarithmic:
        return Axis(name, lambda z: low * (high / low) ** ndtr(z))
    return uniform(name, low, high)


def values(axes: Sequence[Axis], z: Floats) -> dict[str, Floats]:
    """Return what draws come to, by name of the axis.

    Parameters
    ----------
    axes : sequence of Axis
        The unknowns.
    z : ndarray
        Standard normal numbers, shape (draws, axes).
    """
    return {axis.name: axis.at(z[:, k]) for k, axis in enumerate(axes)}


def spread_evenly(count: int, axes: int, seed: int) -> Floats:
    """Return draws of a standard normal space that leave no corner out.

    Parameters
    ----------
    count : int
        Draws, a power of two.

    References
    ----------
    Sobol sequence, scrambled (Owen 1998, J. Complexity 14:466).
    """
    even = qmc.Sobol(axes, rng=np.random.default_rng(np.random.SeedSequence(seed))).random(count)
    return np.asarray(ndtri(np.clip(even, 1e-9, 1.0 - 1e-9)))
