"""Where a policy stands to a limit: within, over, at the limit, or not told yet; looked at a few set times.

A verdict never follows from a bound on one side alone: over means shown to be over. What was settled at one
look stays settled. The chance that any verdict of a study is wrong is shared over looks and policies.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from sim.study.statistics.intervals import Interval

Sample = NDArray[np.float64]
Bounds = Callable[[Sample, float], Interval]  # of a mean, at a two-sided confidence
State = Literal["within", "over", "at the limit", "undecided"]

LOOKS = (10, 20, 40, 80)  # runs after which a study is looked at
ERROR = 0.02  # chance that any verdict of one kind is wrong, to its side


@dataclass(frozen=True)
class Limit:
    """A limit policies are held to.

    Attributes
    ----------
    most : float
        The limit, in the unit of the samples.
    zone : float
        Half-width at which a mean whose interval still holds the limit is called at the limit.
    bounds : callable
        Interval of the mean of a sample.
    """

    most: float
    zone: float
    bounds: Bounds


@dataclass(frozen=True)
class Standing:
    """How a policy stands to a limit, after how many runs that was settled, and the interval of all runs."""

    state: State
    interval: Interval
    runs: int

    @property
    def settled(self) -> bool:
        """Whether more runs would change nothing."""
        return self.state != "undecided"


def looks_up_to(runs: int, looks: Sequence[int] = LOOKS) -> tuple[int, ...]:
    """Return after how many runs a study of so many is looked at, the last time at its end.

    Examples
    --------
    >>> looks_up_to(80), looks_up_to(25), looks_up_to(4)
    ((10, 20, 40, 80), (10, 20, 25), (4,))
    """
    return (*(look for look in looks if look < runs), runs)


def confidence_of_each(error: float, shares: int) -> float:
    """Return the two-sided confidence of one of several bounds, so that each side errs by its share.

    Examples
    --------
    >>> round(confidence_of_each(0.02, 16), 6)
    0.9975
    """
    return 1.0 - 2.0 * error / max(shares, 1)


def state_of(interval: Interval, limit: Limit) -> State:
    """Return what an interval says of a limit."""
    if math.isinf(limit.most):
        return "within"
    if not interval.known:
        return "undecided"
    if interval.high <= limit.most:
        return "within"
    if interval.low > limit.most:
        return "over"
    return "at the limit" if interval.half_width <= limit.zone else "undecided"


def standings(
    samples: Mapping[str, Sample], limit: Limit, looks: Sequence[int], error: float = ERROR
) -> dict[str, Standing]:
    """Return how every policy stands to a limit after the runs there are.

    Parameters
    ----------
    samples : mapping of str to ndarray
        One value, or row of values, per replication by policy, in the same order.
    looks : sequence of int
        All looks that were planned; those beyond the runs there are have not been taken.
    """
    each = confidence_of_each(error, len(looks) * len(samples))
    found: dict[str, Standing] = {}
    for name, sample in samples.items():
        whole = limit.bounds(sample, each)
        found[name] = Standing("undecided", whole, len(sample))
        for look in (one for one in looks if one <= len(sample)):
            known = whole if look == len(sample) else limit.bounds(sample[:look], each)
            found[name] = Standing(state_of(known, limit), whole, look)
            if found[name].settled:
                break
    return found


def joined(states: Sequence[State]) -> State:
    """Return how a policy stands to several limits at once: over one is over.

    Examples
    --------
    >>> joined(["within", "over"]), joined(["within", "undecided", "at the limit"])
    ('over', 'undecided')
    """
    for state in ("over", "undecided", "at the limit"):
        if state in states:
            return state
    return "within"
