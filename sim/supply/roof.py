"""From rain to the cistern inlet: runoff, first flush, and what builds up on a roof and washes off.

Every law here may be applied to an interval at once or in parts with the same result.
"""

import math

from sim.compiled import compiled


@compiled
def runoff_depth_m(rain_m: float, wetting_loss_m: float, coefficient: float) -> float:
    """Return the depth of water that leaves the roof on a wet day.

    Parameters
    ----------
    rain_m : float
        Rain of the day [m], >= 0.
    wetting_loss_m : float
        Depth that wets the roof and dries again, once a wet day [m], >= 0.
    coefficient : float
        Share of the rest that reaches the gutter outlet [-], 0 to 1 (steel 0.80 to 0.85 over years).

    Returns
    -------
    float
        Runoff depth on the plan area [m]; times plan area [m2] it is the volume [m3].

    References
    ----------
    enHealth (2011), Guidance on use of rainwater tanks, appendix B (loss of 24 mm a year, efficiency 0.80).

    Examples
    --------
    The same form on a year: 750 mm less 24 mm, 80 % of it, on 200 m2 gives 116,160 L.

    >>> 200e3 * runoff_depth_m(0.750, 0.024, 0.80)
    116160.
    """
    return max(0.0, rain_m - wetting_loss_m) * coefficient


@compiled
def diverted_depth_m(runoff_m: float, diverted_so_far_m: float, diverter_depth_m: float) -> float:
    """Return the part of some runoff that a first-flush diverter takes.

    Parameters
    ----------
    runoff_m : float
        Runoff depth of the interval [m], >= 0.
    diverted_so_far_m : float
        Depth the diverter already holds [m], >= 0.
    diverter_depth_m : float
        Depth it can hold [m], >= 0.

    Returns
    -------
    float
        Depth diverted in this interval [m]; the rest goes to the cistern.

    References
    ----------
    Texas rule of 1 gal per 100 ft2 of roof (0.407 mm), quoted in Lay et al. (2024), Water 16(10), 1421.

    Examples
    --------
    >>> diverted_depth_m(0.005, 0.0, 0.000407)
    0.000407
    """
    return max(0.0, min(runoff_m, diverter_depth_m - diverted_so_far_m))


@compiled
def dust_after(store: float, dry_s: float, limit: float, time_constant_s: float) -> float:
    """Return what lies on the roof after a dry spell.

    Parameters
    ----------
    store : float
        What lies there at the start: solids [kg/m2], or colour as absorbance times depth [-], >= 0.
    dry_s : float
        Length of the dry spell [s], >= 0.
    limit : float
        Store after a very long dry spell, in the unit of `store`, >= 0.
    time_constant_s : float
        Time in which 63 % of the gap to the limit closes [s], > 0.

    Returns
    -------
    float
        Store at the end, in the unit of `store`. A store above the limit falls to it (wind).

    Notes
    -----
    ds/dt = (limit - s)/tau, solved exactly: s = s0 exp(-t/tau) + limit (1 - exp(-t/tau)).

    References
    ----------
    Exponential build-up in common use for urban surfaces since Sartor & Boyd (1972), EPA-R2-72-081
    (cited from memory).

    Examples
    --------
    >>> dust_after(0.0, 100.0, 1.0, 100.0)
    0.632121
    """
    elapsed = dry_s / time_constant_s
    return store * math.exp(-elapsed) + limit * -math.expm1(-elapsed)


@compiled
def washed(store: float, depth_m: float, rate_per_m: float) -> float:
    """Return what some runoff washes off the roof.

    Parameters
    ----------
    store : float
        What lies on the roof, per unit area: solids [kg/m2], or colour as absorbance times depth [-], >= 0.
    depth_m : float
        Runoff depth [m], >= 0.
    rate_per_m : float
        Wash-off coefficient k [1/m], >= 0 (700 to 1900 1/m; an assumption).

    Returns
    -------
    float
        Amount washed off per unit area, in the unit of `store`; never more than the store.

    Notes
    -----
    This is the falling part of C(h) = C_base + C_flush exp(-k h), h the runoff depth since the event began:
    ds/dh = -k s gives s = s0 exp(-k h), and what leaves with the next dh has the concentration
    -ds/dh = s0 k exp(-k h), so C_flush = s0 k. Its integral over h is s0 (1 - exp(-k h)). The base part is no
    store: it is C_base times depth, added by the caller.

    References
    ----------
    First-order wash-off, Sartor & Boyd (1972), EPA-R2-72-081 (cited from memory); nearly all of the load in
    the first 1.2 mm: Lay et al. (2024), Water 16(10), 1421.

    Examples
    --------
    With k = ln 2 per mm half the store goes with each millimetre.

    >>> washed(8.0, 0.001, 693.147181)
    4.000000
    """
    return store * -math.expm1(-rate_per_m * depth_m)
