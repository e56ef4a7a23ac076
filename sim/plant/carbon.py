"""Carbon block: how its removal of colour wears off with the water it has passed."""

import math

from sim.compiled import compiled


@compiled
def _share_left(bed_volumes: float, half_bed_volumes: float, steepness: float) -> float:
    # the logistic 1/(1 + e^z) written with tanh, which cannot overflow
    return 0.5 - 0.5 * math.tanh(0.5 * steepness * (bed_volumes / half_bed_volumes - 1.0))


@compiled
def removal_fraction(
    bed_volumes: float, initial: float, floor: float, half_bed_volumes: float, steepness: float
) -> float:
    """Return the share of colour a carbon bed removes after some bed volumes.

    Parameters
    ----------
    bed_volumes : float
        Water passed over the volume of the bed, >= 0.
    initial : float
        Share removed by a new bed, 0 to 1.
    floor : float
        Share still removed by a spent bed, 0 to `initial`.
    half_bed_volumes : float
        Bed volumes at which the sorption has half broken through, > 0.
    steepness : float
        Rate constant times `half_bed_volumes`, > 0: 2 is a slow fade, 20 a sharp front.

    Returns
    -------
    float
        Share removed, from `initial` at 0 bed volumes to `floor`.

    Notes
    -----
    s(n) = 1/(1 + exp(k (n/n_half - 1))), k the steepness; removal = floor + (initial - floor) s(n)/s(0).
    Dividing by s(0) makes a new bed remove exactly `initial` even with a slow front. A 5 um block at
    household flow has 1 to 15 s of contact: it polishes, it does not disinfect, and most organic matter
    passes it.

    References
    ----------
    Yoon, Y. H., Nelson, J. H. (1984), Am. Ind. Hyg. Assoc. J. 45, 509-516; the same curve as Thomas (1944)
    and Bohart & Adams (1920) with a steep front. Default numbers: assumption.

    Examples
    --------
    >>> removal_fraction(3000.0, 0.30, 0.05, 3000.0, 10.0)
    0.1750
    """
    share = _share_left(bed_volumes, half_bed_volumes, steepness) / _share_left(
        0.0, half_bed_volumes, steepness
    )
    return floor + (initial - floor) * share


@compiled
def contact_time_s(bed_m3: float, flow_m3_s: float) -> float:
    """Return the empty-bed contact time.

    Parameters
    ----------
    bed_m3 : float
        Volume of the bed, grains and pores [m3].
    flow_m3_s : float
        Flow [m3/s], > 0.

    Notes
    -----
    V/Q. New York asks for at least 180 s in household carbon units (10 NYCRR Appendix 75-B.2).

    References
    ----------
    Definition.

    Examples
    --------
    >>> contact_time_s(0.6e-3, 3e-4)
    2.0
    """
    return bed_m3 / flow_m3_s
