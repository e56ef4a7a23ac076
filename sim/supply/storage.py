"""Plain storage behaviour, day by day: how far a tank of some size goes with some inflow and demand."""

import numpy as np
import numpy.typing as npt

from sim.compiled import compiled

Floats = npt.NDArray[np.float64]


@compiled
def yield_after_spillage(
    inflow_m3: Floats, demand_m3: Floats, capacity_m3: float, start_m3: float
) -> tuple[Floats, Floats, Floats]:
    """Run a store in which water spills before it is used (the cautious rule).

    Parameters
    ----------
    inflow_m3 : numpy.ndarray
        Inflow of each step [m3].
    demand_m3 : numpy.ndarray
        Demand of each step [m3].
    capacity_m3 : float
        Capacity S [m3], >= 0.
    start_m3 : float
        Water in store before the first step [m3], 0 to capacity.

    Returns
    -------
    tuple of numpy.ndarray
        Yield, spill and volume at the end of each step [m3].

    Notes
    -----
    Y = min(D, V'), V = min(V' + Q - Y, S - Y), V' the volume of the step before. The saving efficiency is the
    sum of Y over the sum of D.

    References
    ----------
    Jenkins et al. (1978), Feasibility of rainwater collection systems in California;
    Fewkes & Butler (2000), Build. Serv. Eng. Res. Technol. 21(2), 99-106.

    Examples
    --------
    >>> yield_after_spillage(np.array([4.0, 7.0]), np.array([2.0, 2.0]), 5.0, 0.0)[1].tolist()
    [0.0, 6.0]
    """
    yield_m3, spill_m3, volume_m3 = (
        np.empty_like(inflow_m3),
        np.empty_like(inflow_m3),
        np.empty_like(inflow_m3),
    )
    before = start_m3
    for i in range(inflow_m3.size):
        yield_m3[i] = min(demand_m3[i], before)
        spill_m3[i] = max(0.0, before + inflow_m3[i] - capacity_m3)
        before = min(before + inflow_m3[i] - yield_m3[i], capacity_m3 - yield_m3[i])
        volume_m3[i] = before
    return yield_m3, spill_m3, volume_m3


@compiled
def yield_before_spillage(
    inflow_m3: Floats, demand_m3: Floats, capacity_m3: float, start_m3: float
) -> tuple[Floats, Floats, Floats]:
    """Run a store in which water is used before it spills (the hopeful rule).

    Parameters
    ----------
    inflow_m3 : numpy.ndarray
        Inflow of each step [m3].
    demand_m3 : numpy.ndarray
        Demand of each step [m3].
    capacity_m3 : float
        Capacity S [m3], >= 0.
    start_m3 : float
        Water in store before the first step [m3], 0 to capacity.

    Returns
    -------
    tuple of numpy.ndarray
        Yield, spill and volume at the end of each step [m3].

    Notes
    -----
    Y = min(D, V' + Q), V = min(V' + Q - Y, S), V' the volume of the step before.

    References
    ----------
    Jenkins et al. (1978), Feasibility of rainwater collection systems in California;
    Fewkes & Butler (2000), Build. Serv. Eng. Res. Technol. 21(2), 99-106.

    Examples
    --------
    >>> yield_before_spillage(np.array([4.0, 7.0]), np.array([2.0, 2.0]), 5.0, 0.0)[1].tolist()
    [0.0, 2.0]
    """
    yield_m3, spill_m3, volume_m3 = (
        np.empty_like(inflow_m3),
        np.empty_like(inflow_m3),
        np.empty_like(inflow_m3),
    )
    before = start_m3
    for i in range(inflow_m3.size):
        yield_m3[i] = min(demand_m3[i], before + inflow_m3[i])
        spill_m3[i] = max(0.0, before + inflow_m3[i] - yield_m3[i] - capacity_m3)
        before = min(before + inflow_m3[i] - yield_m3[i], capacity_m3)
        volume_m3[i] = before
    return yield_m3, spill_m3, volume_m3
