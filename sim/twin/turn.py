"""Two compiled calls a day: hand over what the loop moved, and turn to a new day; each call costs."""

from sim.compiled import compiled
from sim.plant import train, water
from sim.supply import cistern, temperature
from sim.twin import slow

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
    """Carry what the pumped water carries and let lamp and films age.

    Parameters
    ----------
    dt_s : float
        Time since the last hand-over [s].
    before_m3, pumped_m3 : float
        Water in the cistern then, and pumped since [m3].
    lit_s : float
        Time the lamp was lit since then [s].
    states, waters, sites : ndarray
        One record each of state, water and site.
    settling_m_s, catch, stages, loads, solids, sludge, ledger : ndarray
        As in `slow.carry`.

    Returns
    -------
    None
        Records and arrays change in place.
    """
    s, w, c = states[0], waters[0], sites[0]
    slow.carry(
        dt_s, before_m3, pumped_m3, s, w, c, settling_m_s, catch, stages, loads, solids, sludge, ledger
    )
    slow.dim(lit_s, w, c)


@compiled
def note_day(day, dark, states, plants, waters, sites, catch, stages, loads, solids, daily):
    """Note what stood at the end of a day.

    Parameters
    ----------
    day : int
        Row of the table.
    dark : int
        1 when the lamp has failed.
    states, plants, waters, sites : ndarray
        One record each of state, plant, water and site.
    catch, stages, loads, solids : ndarray
        As in `slow.refresh`, which is called first: wear of the day counts.
    daily : ndarray
        Shape (days, len(DAILY_COLUMNS) + stages), changed in place.

    Returns
    -------
    None
        The table and the records change in place.
    """
    s, p, w, c = states[0], plants[0], waters[0], sites[0]
    slow.refresh(s, p, w, c, catch, stages, loads, solids, dark)
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
    day_of_year : float
        Day of the year, counted on past the first year.
    w, c : record
        Water and site records.
    diameters_m, settling_m_s : ndarray
        Diameter and velocity by size class, shape (4,); the velocities change in place.

    Returns
    -------
    None
        Record and array change in place.
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
    """Turn to a new day: temperature, rain, and what the plant has become.

    Parameters
    ----------
    day_of_year : float
        Day of the year, counted on past the first year.
    rain_m : float
        Rain of the day [m].
    day_s : float
        Length of the day [s].
    dark : int
        1 when the lamp has failed.
    states, plants, waters, sites : ndarray
        One record each of state, plant, water and site.
    fractions, diameters_m, settling_m_s, catch, stages, loads, solids, sludge, ledger : ndarray
        As in `slow.roof_day` and `slow.carry`.

    Returns
    -------
    int
        Number of a stage whose cartridge is past its collapse difference, or -1.
    """
    s, p, w, c = states[0], plants[0], waters[0], sites[0]
    weather(day_of_year, w, c, diameters_m, settling_m_s)
    slow.roof_day(rain_m, day_s, s, w, c, fractions, solids, sludge, ledger)
    slow.refresh(s, p, w, c, catch, stages, loads, solids, dark)
    for i in range(stages.size):
        if not stages[i].torn and stages[i].worst_pa > stages[i].collapse_pa:
            return i
    return -1
