"""What a step adds to the day, to the dose histogram and to every open draw.

Between two events flow and pressure move one way, so their least and greatest values stand at the ends of a
step. A limit that is crossed on the way divides the step, flow and pressure taken as straight in time.
"""

import math

from sim.compiled import inlined, lean
from sim.plant import cause, state, step


@inlined
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


@inlined
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


@inlined
def _spread(p, taken_m3, first, last, bins):
    """Share a volume among the bins of the doses it had."""
    low, high = max(min(first, last), p.least_flow_m3_s), max(first, last, p.least_flow_m3_s)
    smallest, largest = p.dose_flow / high, math.inf if low <= 0.0 else p.dose_flow / low
    k = step.dose_bin(smallest, state.DOSE_LOW_J_M2, state.DOSE_BINS_PER_DECADE, state.DOSE_BINS)
    left = 1.0
    while k < state.DOSE_BINS - 1 and state.DOSE_EDGES_J_M2[k] <= largest:
        under = volume_under(p.dose_flow / state.DOSE_EDGES_J_M2[k], first, last)
        bins[k] += taken_m3 * (left - under)
        left, k = under, k + 1
    bins[k] += taken_m3 * left


@inlined
def _dosed_flow(p, dose_flow):
    """Return the flow up to which the target is met; 0 when the least tested flow does not meet it."""
    flow = dose_flow / p.target_j_m2
    return flow if flow >= p.least_flow_m3_s else 0.0


@lean
def _blame(p, taken_m3, over, first, last, causes):
    """Book what is below the target by what flow, water, lamp and film take from the flow the unit bears."""
    if p.dose_flow <= 0.0 < p.dose_flow_lamp:
        causes[cause.BYPASS_OPEN, cause.LITRES] += taken_m3
        return
    best = volume_under(_dosed_flow(p, p.dose_flow_best), first, last)
    water = volume_under(_dosed_flow(p, p.dose_flow_water), first, last)
    lamp = volume_under(_dosed_flow(p, p.dose_flow_lamp), first, last)
    causes[cause.FLOW, cause.LITRES] += taken_m3 * (1.0 - best)
    causes[p.why_water, cause.LITRES] += taken_m3 * (best - water)
    causes[p.why_lamp, cause.LITRES] += taken_m3 * (water - lamp)
    causes[p.why_film, cause.LITRES] += taken_m3 * (lamp - (1.0 - over))


@inlined
def _dosed(s, p, day, causes, taken_m3, first, last, warm, got):
    """Book the dose that the taps' share of a step had."""
    least = p.dose_flow / max(first, last, p.least_flow_m3_s) if warm else 0.0
    day[state.DOSE_LEAST] = min(day[state.DOSE_LEAST], least)
    for slot in range(s.open_count):
        i = s.open_draw[slot]
        got[i].dose_j_m2 = min(got[i].dose_j_m2, least)
    if not warm:
        day[state.BELOW_TARGET] += taken_m3
        causes[s.why_cold, cause.LITRES] += taken_m3
        s.dose_m3[0] += taken_m3
        return
    over = 1.0 - volume_under(_dosed_flow(p, p.dose_flow), first, last)
    day[state.BELOW_TARGET] += taken_m3 * over
    if over > 0.0:
        _blame(p, taken_m3, over, first, last, causes)
    _spread(p, taken_m3, first, last, s.dose_m3)


@lean
def _why_off(s, p, warm, held):
    """Return the cause of taps that give nothing."""
    if p.shut:
        return p.why_shut
    if held:  # by the shut-off valve
        return p.why_alarm if warm else s.why_cold
    return s.why_low if s.why_low != cause.NONE else p.why_clogged


@inlined
def note(s, p, day, causes, dt_s, house, coefficient, ends, warm, held, got):
    """Add one step to the day, to the dose histogram and to every open draw.

    Parameters
    ----------
    s, p : record
        State and plant records.
    day : ndarray
        Row of the day, shape (len(DAY_COLUMNS),), changed in place.
    causes : ndarray
        Of the day, shape (len(CAUSES), len(MEASURES)), changed in place.
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
    if off > 0.0:
        day[state.WATER_OFF] += dt_s * off
        causes[_why_off(s, p, warm, held), cause.OFF] += dt_s * off
    if p.alarm and s.power:
        day[state.ALARM] += dt_s
        causes[p.why_alarm if warm else s.why_cold, cause.ALARM] += dt_s
    if not warm:
        day[state.LOW_LIGHT] += dt_s * (1.0 - off)
    elif s.open_count > 0:  # high flow and water on both stand at the end with high pressure
        over = 1.0 - time_under(_dosed_flow(p, p.dose_flow), first, last)
        day[state.LOW_LIGHT] += dt_s * min(over, 1.0 - off)
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
        _dosed(s, p, day, causes, taken, first, last, warm, got)
