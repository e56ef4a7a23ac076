"""The flow a house asks for in its busiest hour: fixtures that are open by chance at the same time.

Several fixtures of one kind: `flow_m3_s`, `count` and `probability` are arrays with one element a kind.
"""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from scipy import special  # scipy.stats has these laws too and takes half a second to load

from sim.demand.end_use import EndUse
from sim.units import GPM_M3_S

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
GRID_M3_S = 0.05 * GPM_M3_S
MOST_GRID_STEPS = 10_000  # from nothing open to everything: the convolution grows with its square


def busy_by_hour(use: EndUse, people: float) -> Floats:
    """Return how many draws of a use run at once, on average, in each hour of a weekday.

    Parameters
    ----------
    use : EndUse
    people : float
        People in the house [-], >= 0.

    Returns
    -------
    numpy.ndarray
        rho = events in the hour x occupied time / 3600 s [-], float64[24].

    References
    ----------
    Buchberger & Wu (1995), J. Hydraul. Eng. 121(3), 232-246.
    """
    share = use.weekday_profile / float(use.weekday_profile.sum())
    return share * (use.events_per_person_day * people * use.occupied_s / 3600.0)


def binomial(count: int, probability: float) -> Floats:
    """Return the chance that none, one, ... and all of so many independent fixtures are open.

    Parameters
    ----------
    count : int
        Fixtures.
    probability : float
        Chance that one is open, 0 to 1.

    Returns
    -------
    numpy.ndarray
        Chances [-], float64[count + 1].

    Examples
    --------
    >>> binomial(2, 0.5).round(12).tolist()
    [0.25, 0.5, 0.25]
    """
    some, none = np.arange(count + 1), count - np.arange(count + 1)
    ways = special.gammaln(count + 1) - special.gammaln(some + 1) - special.gammaln(none + 1)
    found: Floats = np.exp(ways + special.xlogy(some, probability) + special.xlog1py(none, -probability))
    return found


def zero_truncated_quantile(
    flow_m3_s: Floats, count: Ints, probability: Floats, quantile: float, grid_m3_s: float = GRID_M3_S
) -> float:
    """Return a quantile of the flow while anything is open, over all combinations of open fixtures.

    Parameters
    ----------
    flow_m3_s : numpy.ndarray
        Flow of each kind [m3/s], >= half the grid.
    count : numpy.ndarray
        Fixtures of each kind, int.
    probability : numpy.ndarray
        Chance that one of the kind is open [-], 0 to 1.
    quantile : float
        Share of the busy time in which the flow is not exceeded [-], 0 to 1; 0.99 in the method.
    grid_m3_s : float
        Step to which flows are rounded [m3/s], > 0; exact when they are multiples of it.

    Returns
    -------
    float
        Least such flow [m3/s]; 0 when nothing is ever open.

    Notes
    -----
    The binomial law of each kind is convolved with the next on the grid; the zero is dropped and the rest
    scaled to 1. The method for a small mean number of open fixtures (below 1.25, bound from memory), that is
    a house.

    References
    ----------
    Buchberger, Omaghomi, Wolfe, Hewitt & Cole (2017), Peak water demand study (cited from memory).

    Examples
    --------
    One fixture: while anything is open, it is.

    >>> zero_truncated_quantile(np.array([2.0]), np.array([1]), np.array([0.01]), 0.99, 0.05)
    2.0
    """
    law = np.ones(1)
    for flow, n, p in zip(flow_m3_s, count, probability, strict=True):
        step = round(float(flow) / grid_m3_s)
        kind = np.zeros(step * int(n) + 1)
        np.add.at(kind, step * np.arange(int(n) + 1), binomial(int(n), float(p)))
        law = np.convolve(law, kind)
    busy = float(law[1:].sum())
    if busy <= 0.0:
        return 0.0
    reached = np.cumsum(law[1:]) / busy
    return float(np.searchsorted(reached, quantile - 1e-12) + 1) * grid_m3_s


def expected_peak_m3_s(
    uses: Sequence[EndUse], fixtures: Sequence[int], people: float, quantile: float = 0.99
) -> float:
    """Return the flow a household should be able to draw at its busiest hour.

    Parameters
    ----------
    uses : sequence of EndUse
        What the household uses water for.
    fixtures : sequence of int
        Fixtures that serve each use, >= 1.
    people : float
        People in the house [-], >= 0.
    quantile : float
        Share of the busy time of that hour in which the flow is not exceeded [-], 0 to 1.

    Returns
    -------
    float
        Flow [m3/s] at the reference pressures of the uses.

    Notes
    -----
    The busiest hour is the weekday hour of the greatest mean flow. Each fixture is open with probability
    rho/n (at most 1); the flow is `zero_truncated_quantile`, on a coarser grid where very much can be open.

    References
    ----------
    Buchberger, Omaghomi, Wolfe, Hewitt & Cole (2017), Peak water demand study (cited from memory).
    """
    flow_m3_s = np.array([use.flow_m3_s for use in uses])
    busy = np.array([busy_by_hour(use, people) for use in uses])
    at_peak = busy[:, int(np.argmax(flow_m3_s @ busy))]
    count = np.array(fixtures, dtype=np.int64)
    grid_m3_s = max(GRID_M3_S, float(flow_m3_s @ count) / MOST_GRID_STEPS)
    return zero_truncated_quantile(flow_m3_s, count, np.minimum(1.0, at_peak / count), quantile, grid_m3_s)
