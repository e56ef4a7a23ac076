"""Stages in series: each drops a Q + b Q^2, so the whole train does, and its flow has a closed form."""

import math

from sim.compiled import compiled, inlined


@inlined
def flow_m3_s(drive_pa: float, linear_pa_s_m3: float, quadratic_pa_s2_m6: float) -> float:
    """Return the flow that uses up a driving pressure in linear and quadratic resistances.

    Parameters
    ----------
    drive_pa : float
        Gauge pressure at the tank less the static lift to the fixtures [Pa].
    linear_pa_s_m3 : float
        Sum of the linear coefficients [Pa s/m3], >= 0.
    quadratic_pa_s2_m6 : float
        Sum of the quadratic coefficients, fixtures included as 1/(sum K)^2 [Pa s2/m6], >= 0.
        One of the two sums must be positive.

    Returns
    -------
    float
        Flow [m3/s]; 0 without drive.

    Notes
    -----
    Positive root of B Q^2 + A Q = drive, written as 2 drive/(A + sqrt(A^2 + 4 B drive)): no cancellation when
    A is large, and no division by B, which may be 0.

    References
    ----------
    Darcy-Forchheimer form of each stage; root form after Press et al., Numerical Recipes (2007), 5.6.

    Examples
    --------
    >>> flow_m3_s(6.0, 1.0, 1.0)
    2.0
    """
    if drive_pa <= 0.0:
        return 0.0
    root = math.sqrt(linear_pa_s_m3 * linear_pa_s_m3 + 4.0 * quadratic_pa_s2_m6 * drive_pa)
    return 2.0 * drive_pa / (linear_pa_s_m3 + root)


@compiled
def drop_pa(flow_m3_s: float, linear_pa_s_m3: float, quadratic_pa_s2_m6: float) -> float:
    """Return the pressure a stage takes at a flow.

    Parameters
    ----------
    flow_m3_s : float
        Flow [m3/s], >= 0.
    linear_pa_s_m3 : float
        Linear coefficient a [Pa s/m3].
    quadratic_pa_s2_m6 : float
        Quadratic coefficient b [Pa s2/m6].

    Notes
    -----
    dp = a Q + b Q^2: a is the medium (Darcy, goes with viscosity), b ports and bends (Forchheimer).

    References
    ----------
    Darcy-Forchheimer equation.

    Examples
    --------
    >>> drop_pa(2.0, 1.0, 1.0)
    6.0
    """
    return flow_m3_s * (linear_pa_s_m3 + quadratic_pa_s2_m6 * flow_m3_s)


@compiled
def linear_of(linear_one: float, housings: float) -> float:
    """Return the linear coefficient of equal housings in parallel.

    Parameters
    ----------
    linear_one : float
        Linear coefficient of one housing [Pa s/m3].
    housings : float
        Number of equal housings side by side, >= 1.

    Returns
    -------
    float
        Linear coefficient of the stage [Pa s/m3].

    Notes
    -----
    Each carries Q/n, so a (Q/n) = (a/n) Q.

    References
    ----------
    Derived above.

    Examples
    --------
    >>> linear_of(6.0, 2.0)
    3.0
    """
    return linear_one / housings


@compiled
def quadratic_of(quadratic_one: float, housings: float) -> float:
    """Return the quadratic coefficient of equal housings in parallel.

    Parameters
    ----------
    quadratic_one : float
        Quadratic coefficient of one housing [Pa s2/m6].
    housings : float
        Number of equal housings side by side, >= 1.

    Returns
    -------
    float
        Quadratic coefficient of the stage [Pa s2/m6].

    Notes
    -----
    Each carries Q/n, so b (Q/n)^2 = (b/n^2) Q^2.

    References
    ----------
    Derived above.

    Examples
    --------
    >>> quadratic_of(8.0, 2.0)
    2.0
    """
    return quadratic_one / (housings * housings)
