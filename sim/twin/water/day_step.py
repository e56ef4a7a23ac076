"""The slow side as time passes: what the loop hands over, what is noted of a day, how a new one begins."""

from sim.compiled import lean
from sim.constants import DAY_S
from sim.plant import train, water
from sim.supply import cistern, temperature
from sim.twin.water import transport
from sim.twin.water.house import CLASSES, LAMP, PUMP

# Columns of the table of days besides the loop's own; the drops over the stages follow.
DAILY_COLUMNS = (
    "cistern_m3",
    "overflow_m3",
    "uv_reading",
    "water_c",
    "absorbance_per_m",
    "dose_flow",
    "mains_m3",
)
CISTERN, OVERFLOW, READING, WATER_C, ABSORBANCE, DOSE_FLOW, MAINS = range(len(DAILY_COLUMNS))


@lean
def leave(h):
    """Mark how things stand as the loop goes off; one that broke off goes on from where it left."""
    s, mark = h.state, h.mark
    if not mark.under_way:
        mark.under_way = 1
        mark.time_s, mark.cistern_m3, mark.pumped_m3 = s.time_s, s.cistern_m3, s.pumped_m3
        mark.lit_s, mark.run_s, mark.mains_m3 = s.lit_s, s.run_s, s.mains_m3


@lean
def arrive(now_s, h):
    """Hand over what the loop has moved since it left: to water, films, lamp and pump."""
    s, mark = h.state, h.mark
    mark.under_way = 0
    lit_s = s.lit_s - mark.lit_s
    pumped_m3, mains_m3 = s.pumped_m3 - mark.pumped_m3, s.mains_m3 - mark.mains_m3
    transport.carry(now_s - mark.time_s, mark.cistern_m3, pumped_m3, mains_m3, h)
    transport.dim(lit_s, h)
    h.parts[LAMP].used_s += lit_s
    h.parts[PUMP].used_s += s.run_s - mark.run_s


@lean
def refresh(house):
    """Say what wear, water and people have made of the plant."""
    transport.refresh(house[0])


@lean
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
    daily[day, DOSE_FLOW] = h.plant.dose_flow
    daily[day, MAINS] = h.state.mains_m3
    for i in range(h.site.stage_count):
        stage = h.stages[i]
        drop = train.drop_pa(w.drop_flow_m3_s * h.faults.share, stage.resistance, stage.quadratic)
        daily[day, len(DAILY_COLUMNS) + i] = drop


@lean
def weather(day_of_year, house):
    """Set the water's temperature and how fast solids settle in it."""
    w, c = house[0].water, house[0].site
    w.water_c = temperature.water_temperature_c(day_of_year, c.water_mean_c, c.water_swing_c, c.warmest_day)
    density, viscosity = water.density_kg_m3(w.water_c), water.viscosity_pa_s(w.water_c)
    for k in range(CLASSES):
        w.settling_m_s[k] = cistern.stokes_velocity_m_s(c.diameters_m[k], c.grain_kg_m3, density, viscosity)


@lean
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
