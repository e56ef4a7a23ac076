"""The house left to itself, compiled: from look to look and midnight to midnight, until someone is to act."""

import math

from sim.compiled import lean
from sim.constants import DAY_S
from sim.plant import loop, state
from sim.twin.water import ageing, day_step, transport
from sim.twin.water.house import BLADDER, LAMP, PUMP, SECOND

NEAR_ALARM = 0.012  # films and lamp take some 0.005 of the reading a day, 0.01 at most (built-in sites)
LOOKS = 12  # a day is cut in 2 h, those in 10 min: floats hold them exactly
COARSE_S, FINE_S = DAY_S / LOOKS, DAY_S / LOOKS / LOOKS
MINDED = 4  # besides what `sim.plant.loop.advance` returns: someone is to mind what the last look showed


@lean
def plan(house):
    """Say when the house is looked at next: each midnight, and oftener as the reading nears the alarm.

    Returns
    -------
    float
        Time [s].
    """
    k, margin = house[0].clock, house[0].water.reading - house[0].site.alarm
    if k.due_s % DAY_S == 0.0:
        k.coarse = 0.0 <= margin < NEAR_ALARM
    if k.due_s % COARSE_S == 0.0:
        k.fine = k.coarse and 0.0 <= margin < NEAR_ALARM / LOOKS
    k.due_s += FINE_S if k.fine else COARSE_S if k.coarse else DAY_S
    return k.due_s


@lean
def midnight(day, house, rain_m, daily, days):
    """Start a day: yesterday is noted, parts age, and unless one fails rain falls and the new day begins."""
    h = house[0]
    k = h.clock
    if day > 0:
        day_step.note_day(day - 1, house, daily)
    k.failed = ageing.age(day * DAY_S, h, days)
    if not k.failed:
        k.torn = day_step.new_day(float(k.first_day + day), rain_m[day], house)


@lean
def _calls(day, h, days):
    """Return whether a midnight showed what somebody is to know: parts at their end, a low cistern."""
    k, parts = h.clock, h.parts
    if k.failed or k.torn >= 0 or h.state.cistern_m3 < k.order_m3:
        return True
    if day == 0 or not k.heeds:
        return False
    broken = parts[LAMP].broken or parts[PUMP].broken or parts[BLADDER].broken or k.standby_broken
    broken = broken or parts[SECOND].broken
    return bool(broken or h.plant.alarm or days[day - 1, state.LOW_PRESSURE] > k.weak_s)


@lean
def onward(
    now_s, before_s, refresh, house, rain_m, daily, alarm_days, got, cuts, days, causes, pump_log, trace
):
    """Bring plant, water and parts up to now; or take all looks due up to now and before someone acts.

    What is begun and not ended goes on in the next call. All that asks for the loop comes through here: each
    further way into it would compile it once more.

    Parameters
    ----------
    before_s : float
        Time of the next event [s], before which only the house changes; nan to bring it up to now only.
    refresh : bool
        Whether to say what the plant has become when the house is only brought up to now.
    house : ndarray
        An array of one record of `sim.twin.water.house.HOUSE`, handed over in a fraction of the time of the
        record itself.
    rain_m : ndarray
        Depth of each day [m].
    daily, alarm_days : ndarray
        What stood at the end of each day, and on which the alarm sounded, changed in place.
    got, cuts, days, causes, pump_log, trace : ndarray
        As in `sim.plant.loop.advance`.

    Returns
    -------
    int
        As of `sim.plant.loop.advance`, or `MINDED`: then the clock still stands at the look that showed it.
    """
    h = house[0]
    k, looks = h.clock, not math.isnan(before_s)
    while not looks or k.due_s <= now_s or k.due_s < before_s:
        at_s = k.due_s if looks else now_s
        turns, was = looks and at_s % DAY_S == 0.0, h.plant.alarm
        if at_s > h.state.time_s:
            day_step.leave(h)
            status = loop.advance(at_s, h.state, h.plant, got, cuts, days, causes, pump_log, trace)
            if status != state.OK:
                return status
            day_step.arrive(at_s, h)
            if refresh and not turns:
                transport.refresh(h)
        if not looks:
            break
        day = int(at_s / DAY_S)
        if turns:
            midnight(day, house, rain_m, daily, days)
        if (turns and _calls(day, h, days)) or h.plant.alarm != was:
            return MINDED
        if h.plant.alarm:
            alarm_days[day] = True
        plan(house)
    return state.OK
