"""The share that one part has in a sum of two means, each known by an interval."""

import math

from sim.study.statistics.intervals import Interval


def share_interval(part: Interval, rest: Interval) -> Interval:
    """Return the share of a part in the sum of itself and the rest.

    Parameters
    ----------
    part : Interval
        Mean of the part, not below 0.
    rest : Interval
        Mean of all else, of the same runs and confidence, not below 0.

    Returns
    -------
    Interval
        Share and bounds [fraction]; without bounds where one of the two has none, nan where both are 0.

    Notes
    -----
    The bounds of the ratio a/b of two means are recovered from those of each (MOVER), which may lie askew:
    low = {ab - sqrt[(ab)^2 - l u (2a - l)(2b - u)]} / [u (2b - u)], with l the lower bound of a and u the
    upper one of b; high likewise with the others. A ratio r is a share r/(1 + r). Part and rest are taken to
    be independent, as they come of different causes.

    References
    ----------
    Donner & Zou 2012, Stat. Methods Med. Res. 21:347 (from memory).

    Examples
    --------
    >>> part = Interval(2.0, 1.0, 4.0, 0.95, "", 40)
    >>> found = share_interval(part, Interval(2.0, 1.0, 4.0, 0.95, "", 40))
    >>> found.estimate, round(found.low, 3), round(found.high, 3)
    (0.5, 0.273, 0.727)
    """
    whole = part.estimate + rest.estimate
    share = part.estimate / whole if whole > 0 else math.nan
    if not (part.known and rest.known):
        low = high = math.nan
    else:
        low = _share(_ratio_low(part, rest))
        high = 1.0 - _share(_ratio_low(rest, part))
    return Interval(share, low, high, part.confidence, f"MOVER of {part.method}", part.n, part.reason)


def _share(ratio: float) -> float:
    return ratio / (1.0 + ratio)


def _ratio_low(part: Interval, rest: Interval) -> float:
    """Return the lower bound of the ratio of two means."""
    product = part.estimate * rest.estimate
    across = rest.high * (2.0 * rest.estimate - rest.high)
    along = part.low * (2.0 * part.estimate - part.low)
    if part.low <= 0.0:
        return 0.0
    if across == 0.0:  # the limit of the formula
        return along / (2.0 * product)
    return max(0.0, (product - math.sqrt(max(0.0, product * product - along * across))) / across)
