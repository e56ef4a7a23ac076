"""Taps, showers, leaks: everything that is open is an orifice, q = K sqrt(p)."""

import math

from sim.compiled import compiled


@compiled
def coefficient(flow_m3_s: float, reference_pa: float) -> float:
    """Return the orifice coefficient of a fixture from one known point.

    Parameters
    ----------
    flow_m3_s : float
        Flow at the reference pressure [m3/s].
    reference_pa : float
        Flowing gauge pressure at which that flow is known [Pa], > 0.

    Returns
    -------
    float
        K in q = K sqrt(p) [m3/s/sqrt(Pa)].

    Notes
    -----
    K = q/sqrt(p). A fixture with a flow regulator is flatter than this above its regulated pressure.

    References
    ----------
    Orifice law (Torricelli).

    Examples
    --------
    In gpm and psi: 2.0 gpm at 80 psi is 1.5 gpm at 45 psi.

    >>> coefficient(2.0, 80.0) * 45.0**0.5
    1.50
    """
    return flow_m3_s / math.sqrt(reference_pa)


@compiled
def flow_m3_s(coefficient: float, pressure_pa: float) -> float:
    """Return the flow of an open fixture.

    Parameters
    ----------
    coefficient : float
        K in q = K sqrt(p) [m3/s/sqrt(Pa)].
    pressure_pa : float
        Gauge pressure at the fixture [Pa].

    Returns
    -------
    float
        Flow [m3/s]; 0 without pressure.

    Notes
    -----
    q = K sqrt(p). Open fixtures in parallel add their K.

    References
    ----------
    Orifice law (Torricelli).

    Examples
    --------
    >>> 1e4 * flow_m3_s(2.0e-7, 250e3)
    1.0
    """
    return coefficient * math.sqrt(max(0.0, pressure_pa))
