"""What Python asks of the compiled side: bring the house to a time, turn to a new day; each call costs."""

from sim.compiled import compiled
from sim.constants import DAY_S
from sim.plant import loop, state, train, water
from sim.supply import cistern, temperature
from sim.twin.water import transport
from sim.twin.water.house import CLASSES, LAMP, PUMP

# Columns of the table of days besides the loop's own; the drops over the stages follow.
DAILY_COLUMNS = ("cistern_m3", "overflow_m3", "uv_reading", "water_c", "absorbance_per_m")
CISTERN, OVERFLOW, READING, WATER_C, ABSORBANCE = range(len(DAILY_COLUMNS))


@compiled
def bring(until_s, look, house, got, cuts, days, pump_log, trace):
    """Bring plant, water and parts to a time; what is begun and not ended goes on in the next call.

    Parameters
    ----------
    look : bool
        Whether to say what the plant has become; at midnight the new day does.
    house : ndarray
        An array of one record of `sim.twin.water.house.HOUSE`, handed over in a fraction of the time of the
        record itself.
    got, cuts, days, pump_log, trace : ndarray
        As in `sim.plant.loop.advance`.

    Returns
    -------
    int
        As of `sim.plant.loop.advance`.
    """
    h = house[0]
    s, mark = h.state, h.mark
    if not mark.under_way:
        mark.under_way = 1
        mark.time_s, mark.cistern_m3, mark.pumped_m3 = s.time_s, s.cistern_m3, s.pumped_m3
        mark.lit_s, mark.run_s = s.lit_s, s.run_s
    status = loop.advance(until_s, s, h.plant, got, cuts, days, pump_log, trace)
    if status != state.OK:
        return status
    mark.under_way = 0
    lit_s = s.lit_s - mark.lit_s
    transport.carry(until_s - mark.time_s, mark.cistern_m3, s.pumped_m3 - mark.pumped_m3, h)
    transport.dim(lit_s, h)
    h.parts[LAMP].used_s += lit_s
    h.parts[PUMP].used_s += s.run_s - mark.run_s
    if look:
        transport.refresh(h)
    return status


@compiled
def refresh(house):
    """Say what wear, water and people have made of the plant."""
    transport.refresh(house[0])


@compiled
def note_day(day, house, daily):
    """Note what stood at the end of a day."""
    h = house[0]
    w = h.water
    transport.refresh(h)
    daily[day, CISTERN] = h.state.cistern_m3
    daily[day, OVERFLOW] = w.overflow_m3
    daily[day, READING] = w.reading
    daily[day, WATER_C] = w.water_c
    daily[day, ABSORBANCE] = w.absorbance_per_m
    for i in range(h.site.stage_count):
        stage = h.stages[i]
        drop = train.drop_pa(w.drop_flow_m3_s * h.faults.share, stage.resistance, stage.quadratic)
        daily[day, ABSORBANCE + 1 + i] = drop


@compiled
def weather(day_of_year, house):
    """Set the water's temperature and how fast solids settle in it."""
    w, c = house[0].water, house[0].site
    w.water_c = temperature.water_temperature_c(day_of_year, c.water_mean_c, c.water_swing_c, c.warmest_day)
    density, viscosity = water.density_kg_m3(w.water_c), water.viscosity_pa_s(w.water_c)
    for k in range(CLASSES):
        w.settling_m_s[k] = cistern.stokes_velocity_m_s(c.diameters_m[k], c.grain_kg_m3, density, viscosity)


@compiled
def new_day(day_of_year, rain_m, house):
    """Turn to a new day: temperature, rain, and what the plant has become.

    Returns
    -------
    int
        The first stage whose cartridge tears, or -1.
    """
    h = house[0]
    weather(day_of_year, house)
    transport.roof_day(rain_m, DAY_S, h)
    transport.refresh(h)
    for i in range(h.site.stage_count):
        if not h.stages[i].torn and h.stages[i].worst_pa > h.stages[i].collapse_pa:
            return i
    return -1
