"""What a step adds to the day, to the dose histogram and to every open draw.

Between two events flow and pressure move one way, so their least and greatest values stand at the ends of a
step. A limit that is crossed on the way divides the step, flow and pressure taken as straight in time.
"""

import math

from sim.compiled import compiled
from sim.plant import state, step


@compiled
def time_under(limit: float, first: float, last: float) -> float:
    """Return the share of the time a quantity that goes straight from one value to another is within a limit.

    Parameters
    ----------
    limit : float
        Limit, in the unit of the quantity.
    first, last : float
        Values at the ends.

    Returns
    -------
    float
        Share of the time at or below the limit, 0 to 1.

    Examples
    --------
    >>> time_under(2.0, 5.0, 1.0)
    0.25
    """
    low, high = min(first, last), max(first, last)
    if high <= limit:
        return 1.0
    return max(0.0, (limit - low) / (high - low)) if low < limit else 0.0


@compiled
def volume_under(limit_m3_s: float, first_m3_s: float, last_m3_s: float) -> float:
    """Return the share of the volume that passes while a flow that goes straight in time is within a limit.

    Parameters
    ----------
    limit_m3_s : float
        Flow [m3/s].
    first_m3_s, last_m3_s : float
        Flows at the ends, 0 or more [m3/s].

    Returns
    -------
    float
        Share of the volume, 0 to 1.

    Notes
    -----
    The volume up to a flow goes as its square: (limit^2 - low^2)/(high^2 - low^2).

    Examples
    --------
    >>> volume_under(1.0, 0.0, 2.0)
    0.25
    """
    low, high = min(first_m3_s, last_m3_s), max(first_m3_s, last_m3_s)
    if high <= limit_m3_s:
        return 1.0
    if low >= limit_m3_s:
        return 0.0
    return (limit_m3_s - low) * (limit_m3_s + low) / ((high - low) * (high + low))


@compiled
def _spread(p, taken_m3, first, last, bins):
    """Share a volume among the bins of the doses it had."""
    low, high = min(first, last), max(first, last)
    smallest, largest = p.dose_flow / high, math.inf if low <= 0.0 else p.dose_flow / low
    k = step.dose_bin(smallest, state.DOSE_LOW_J_M2, state.DOSE_BINS_PER_DECADE, state.DOSE_BINS)
    end = state.DOSE_BINS - 1
    if math.isfinite(largest):
        end = step.dose_bin(largest, state.DOSE_LOW_J_M2, state.DOSE_BINS_PER_DECADE, state.DOSE_BINS)
    left = 1.0
    while k < end:
        edge = state.DOSE_LOW_J_M2 * math.pow(10.0, k / state.DOSE_BINS_PER_DECADE)
        under = volume_under(p.dose_flow / edge, first, last)
        bins[k] += taken_m3 * (left - under)
        left, k = under, k + 1
    bins[k] += taken_m3 * left


@compiled
def _dosed(s, p, day, taken_m3, first, last, warm, got):
    """Book the dose that the taps' share of a step had."""
    least = p.dose_flow / max(first, last) if warm else 0.0
    day[state.DOSE_LEAST] = min(day[state.DOSE_LEAST], least)
    for slot in range(s.open_count):
        i = s.open_draw[slot]
        got[i].dose_j_m2 = min(got[i].dose_j_m2, least)
    if not warm:
        day[state.BELOW_TARGET] += taken_m3
        s.dose_m3[0] += taken_m3
        return
    over = 1.0 - volume_under(p.dose_flow / p.target_j_m2, first, last)
    day[state.BELOW_TARGET] += taken_m3 * over
    _spread(p, taken_m3, first, last, s.dose_m3)


@compiled
def note(s, p, day, dt_s, house, coefficient, ends, warm, held, got):
    """Add one step to the day, to the dose histogram and to every open draw.

    Parameters
    ----------
    s, p : record
        State and plant records.
    day : ndarray
        Row of the day, shape (len(DAY_COLUMNS),), changed in place.
    dt_s : float
        Length of the step, above 0 [s].
    house : float
        Volume through the train [m3].
    coefficient : float
        Sum of the open taps' coefficients, 0 when water is held [m3/s/Pa^0.5].
    ends : tuple of float
        Pressure at the tank before and after [Pa], flow to the house before and after [m3/s].
    warm : bool
        Whether the lamp is lit and warm.
    held : bool
        Whether a valve holds the water.
    got : ndarray
        As in `sim.plant.loop.advance`.

    Returns
    -------
    None
        Arrays change in place.
    """
    before_pa, after_pa, first, last = ends
    day[state.TANK_MIN] = min(day[state.TANK_MIN], before_pa, after_pa)
    day[state.TANK_MAX] = max(day[state.TANK_MAX], before_pa, after_pa)
    off = 1.0 if held else time_under(p.trickle_pa, before_pa, after_pa)
    day[state.WATER_OFF] += dt_s * off
    if not warm or p.alarm:
        day[state.UNSAFE] += dt_s * (1.0 - off)
    elif s.open_count > 0:  # high flow and water on both stand at the end with high pressure
        over = 1.0 - time_under(p.dose_flow / p.target_j_m2, first, last)
        day[state.UNSAFE] += dt_s * min(over, 1.0 - off)
    if s.open_count == 0:
        return
    total = coefficient + p.leak_coefficient
    tap_pa = (min(first, last) / total) ** 2 if total > 0.0 else 0.0
    day[state.TAP_MIN] = min(day[state.TAP_MIN], tap_pa)
    for slot in range(s.open_count):
        i = s.open_draw[slot]
        got[i].tap_pa = min(got[i].tap_pa, tap_pa)
    if s.power and not held:
        day[state.LOW_PRESSURE] += dt_s * time_under(total * math.sqrt(p.low_tap_pa), first, last)
    taken = house * coefficient / total if total > 0.0 else 0.0
    if taken > 0.0:
        _dosed(s, p, day, taken, first, last, warm, got)
