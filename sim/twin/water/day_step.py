"""Two compiled calls a day: hand over what the loop moved, and turn to a new day; each call costs."""

from sim.compiled import compiled
from sim.plant import train, water
from sim.supply import cistern, temperature
from sim.twin.water import transport

# Columns of the table of days besides the loop's own; the drops over the stages follow.
DAILY_COLUMNS = ("cistern_m3", "overflow_m3", "uv_reading", "water_c", "absorbance_per_m")
CISTERN, OVERFLOW, READING, WATER_C, ABSORBANCE = range(len(DAILY_COLUMNS))


@compiled
def hand_over(
    dt_s,
    before_m3,
    pumped_m3,
    lit_s,
    states,
    waters,
    sites,
    settling_m_s,
    catch,
    stages,
    loads,
    solids,
    sludge,
    ledger,
):
    """Carry what the pumped water carries and let lamp and films age."""
    s, w, c = states[0], waters[0], sites[0]
    transport.carry(
        dt_s, before_m3, pumped_m3, s, w, c, settling_m_s, catch, stages, loads, solids, sludge, ledger
    )
    transport.dim(lit_s, w, c)


@compiled
def note_day(day, dark, states, plants, waters, sites, catch, stages, loads, solids, daily):
    """Note what stood at the end of a day."""
    s, p, w, c = states[0], plants[0], waters[0], sites[0]
    transport.refresh(s, p, w, c, catch, stages, loads, solids, dark)
    daily[day, CISTERN] = s.cistern_m3
    daily[day, OVERFLOW] = w.overflow_m3
    daily[day, READING] = w.reading
    daily[day, WATER_C] = w.water_c
    daily[day, ABSORBANCE] = w.absorbance_per_m
    for i in range(stages.size):
        drop = train.drop_pa(w.drop_flow_m3_s, stages[i].resistance, stages[i].quadratic)
        daily[day, ABSORBANCE + 1 + i] = drop


@compiled
def weather(day_of_year, w, c, diameters_m, settling_m_s):
    """Set the water's temperature and how fast solids settle in it.

    Parameters
    ----------
    diameters_m, settling_m_s : ndarray
        Diameter and velocity by size class, shape (4,); the velocities change in place.
    """
    w.water_c = temperature.water_temperature_c(day_of_year, c.water_mean_c, c.water_swing_c, c.warmest_day)
    density, viscosity = water.density_kg_m3(w.water_c), water.viscosity_pa_s(w.water_c)
    for k in range(diameters_m.size):
        settling_m_s[k] = cistern.stokes_velocity_m_s(diameters_m[k], c.grain_kg_m3, density, viscosity)


@compiled
def new_day(
    day_of_year,
    rain_m,
    day_s,
    dark,
    states,
    plants,
    waters,
    sites,
    fractions,
    diameters_m,
    settling_m_s,
    catch,
    stages,
    loads,
    solids,
    sludge,
    ledger,
):
    """Turn to a new day: temperature, rain, and what the plant has become."""
    s, p, w, c = states[0], plants[0], waters[0], sites[0]
    weather(day_of_year, w, c, diameters_m, settling_m_s)
    transport.roof_day(rain_m, day_s, s, w, c, fractions, solids, sludge, ledger)
    transport.refresh(s, p, w, c, catch, stages, loads, solids, dark)
    for i in range(stages.size):
        if not stages[i].torn and stages[i].worst_pa > stages[i].collapse_pa:
            return i
    return -1
