"""What a day does to the parts, compiled: precharge, switch, pump and lamp wear, ends of life."""

import math

from sim.compiled import lean
from sim.constants import DAY_S
from sim.plant import pump_life, state
from sim.twin.water.house import BLADDER, LAMP, PUMP, SECOND


@lean
def age(midnight_s, h, days):
    """Let parts wear for a day.

    Returns
    -------
    int
        Parts that came to their end: a bit for each of `sim.twin.water.house.PARTS`, lowest first.
    """
    p, a, parts = h.plant, h.ageing, h.parts
    parts[BLADDER].used_s += DAY_S
    a.precharge_pa *= a.precharge_kept
    if not parts[BLADDER].broken:
        p.precharge_pa = a.precharge_pa
    if a.drift_pa != 0.0:
        p.cut_in_pa = max(p.cut_in_pa + a.drift_pa, 1.0)
        p.cut_out_pa = max(p.cut_out_pa + a.drift_pa, p.cut_in_pa + a.band_pa)
    if a.head_wear_per_s > 0.0:
        p.shutoff_head_m = a.head_m * math.exp(-a.head_wear_per_s * parts[PUMP].used_s)
    lamp_s = parts[LAMP].used_s + h.state.lamp_starts * a.lamp_start_s
    failed = 0
    if not parts[LAMP].broken and lamp_s >= parts[LAMP].life_s:
        failed |= 1 << LAMP
    if not parts[SECOND].broken and lamp_s >= parts[SECOND].life_s:
        failed |= 1 << SECOND
    if not parts[PUMP].broken and _pump_age_s(midnight_s, h, days) >= parts[PUMP].life_s:
        failed |= 1 << PUMP
    if not parts[BLADDER].broken and parts[BLADDER].used_s >= parts[BLADDER].life_s:
        failed |= 1 << BLADDER
    return failed


@lean
def _pump_age_s(midnight_s, h, days):
    """Add yesterday's starts and running to a pump; return the age of an idle pump that is worn as much."""
    if midnight_s <= 0.0:
        return 0.0
    a, part, day = h.ageing, h.parts[PUMP], days[int(midnight_s / DAY_S) - 1]
    part.start_count += pump_life.counted_starts(day[state.STARTS], day[state.SHORT_RUNS], a.short_run_factor)
    if a.cavitates_m3 > 0.0:
        if h.state.cistern_m3 < a.cavitates_m3:
            part.hard_s += (a.cavitation_factor - 1.0) * (part.used_s - part.run_s)
        part.run_s = part.used_s
    return pump_life.equivalent_age_s(
        midnight_s - part.since_s,
        part.used_s + part.hard_s,
        part.start_count,
        a.life_age_s,
        a.life_run_s,
        a.life_start_count,
        a.life_shape,
    )
