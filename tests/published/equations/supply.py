"""Rain, roof, storage, settling, in the names and units of the published cases."""

import csv
from functools import cache
from importlib.resources import files

import numpy as np

from sim.scenario.climate import table
from sim.supply import cistern, rain, roof, storage
from sim.units import FOOT_M, GALLON_M3, INCH_M
from tests.published.equations.register import equation

MONTH_DAYS = np.array([31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])


# --- rain ---
@cache
def seattle():
    """Dates and depths [m] of the daily Seattle record 2012-2015 in vega_datasets (public domain)."""
    text = files("vega_datasets").joinpath("_data/seattle-weather.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    dates = np.array([row["date"].replace("/", "-") for row in rows], dtype="datetime64[D]")
    return dates, np.array([float(row["precipitation"]) for row in rows]) / 1000.0


def statistic(stats, month, of):
    at = int(month) - 1
    found = {
        "p01": stats.p_wet_after_dry,
        "p11": stats.p_wet_after_wet,
        "wet share": stats.p_wet(),
        "shape": stats.shape,
        "scale mm": 1e3 * stats.scale_m,
        "mean mm": 1e3 * stats.shape * stats.scale_m,
    }
    return float(found[of][at])


@cache
def seattle_fitted():
    dates, depth_m = seattle()
    return rain.fit(depth_m, rain.month_index(dates), 0.0)


@equation
def seattle_month(month, of):
    return statistic(seattle_fitted(), month, of)


@equation
def seattle_pooled(of):
    dates, depth_m = seattle()
    return statistic(rain.fit(depth_m, np.zeros(dates.size, dtype=np.int64), 0.0), 1, of)


@equation
def seattle_year(year, of):
    dates, depth_m = seattle()
    mm = 1e3 * rain.in_order(depth_m, dates, np.datetime64("2016-01-01"), 366, int(year) - 2012)
    return {"total mm": mm.sum(), "wet days": float(np.count_nonzero(mm)), "largest mm": mm.max()}[of]


@equation
def seattle_all(of):
    dates, depth_m = seattle()
    mm = 1e3 * rain.in_order(depth_m, dates, dates[0], depth_m.size, 0)
    dry_run = np.diff(np.flatnonzero(np.concatenate([[1.0], mm, [1.0]]))) - 1
    found = {
        "days": mm.size,
        "total mm": mm.sum(),
        "wet days": np.count_nonzero(mm),
        "dry run": dry_run.max(),
    }
    return float(found[of])


@equation
def wet_days(days, p_wet_after_wet, p_wet_after_dry):
    stats = rain.RainStatistics(*(np.full(12, x) for x in (p_wet_after_dry, p_wet_after_wet, 1.0, 1.0)))
    return days * float(stats.p_wet()[0])


@equation
def yearly_rain_in(wet_day_mean_in, p_wet_after_wet, p_wet_after_dry):
    stats = rain.RainStatistics(p_wet_after_dry, p_wet_after_wet, np.ones(12), wet_day_mean_in * INCH_M)
    return float((MONTH_DAYS * stats.p_wet() * stats.shape * stats.scale_m).sum() / INCH_M)


@equation
def climate_year(climate, of):
    stats = rain.RainStatistics(**table(climate))
    wet = MONTH_DAYS / 365.25 * 365.0 * stats.p_wet()
    return {"rain mm": 1e3 * float(wet @ (stats.shape * stats.scale_m)), "wet days": float(wet.sum())}[of]


# --- roof ---
@equation
def runoff_gal(rain_in, area_ft2):
    return roof.runoff_depth_m(rain_in * INCH_M, 0.0, 1.0) * area_ft2 * FOOT_M**2 / GALLON_M3


@equation
def runoff_gal_of(rain_in, area_ft2, coefficient):
    return runoff_gal(rain_in, area_ft2) * coefficient


@equation
def runoff_l(rain_mm, area_m2, loss_mm, coefficient):
    return 1e3 * area_m2 * roof.runoff_depth_m(rain_mm / 1e3, loss_mm / 1e3, coefficient)


@equation
def runoff_kl(rain_mm, area_m2, loss_mm, coefficient):
    return runoff_l(rain_mm, area_m2, loss_mm, coefficient) / 1e3


@equation
def runoff_l_per_day(rain_mm, area_m2, coefficient):
    return runoff_l(rain_mm, area_m2, 0.0, coefficient) / 365.0


@equation
def washed_share(depth_mm, rate_per_mm):
    return roof.washed(1.0, depth_mm / 1e3, rate_per_mm * 1e3)


# --- storage ---
@equation
def store_series(rule, inflow, demand, capacity, of):
    run = storage.yield_after_spillage if rule == "yield after spillage" else storage.yield_before_spillage
    given, spilt, held = run(np.asarray(inflow), np.full(len(inflow), demand), capacity, 0.0)
    return {"yield": given, "spill": spilt, "volume": held, "met": given.sum() / (demand * len(inflow))}[of]


@equation
def largest_store_m3(rain_mm, area_m2, coefficient):
    inflow = np.array([runoff_kl(mm, area_m2, 0.0, coefficient) for mm in rain_mm])
    demand = np.full(inflow.size, inflow.sum() / inflow.size)
    return float(storage.yield_before_spillage(inflow, demand, 1e3, 0.0)[2].max())


# --- settling ---
@equation
def stokes_cm_s(diameter_um, particle_kg_m3, water_kg_m3, viscosity_pa_s):
    return 1e2 * cistern.stokes_velocity_m_s(diameter_um / 1e6, particle_kg_m3, water_kg_m3, viscosity_pa_s)


@equation
def stokes_m_h(diameter_um, particle_kg_m3, water_kg_m3, viscosity_pa_s):
    return 36.0 * stokes_cm_s(diameter_um, particle_kg_m3, water_kg_m3, viscosity_pa_s)


@equation
def fall_h(depth_m, diameter_um, particle_kg_m3, water_kg_m3, viscosity_pa_s):
    return depth_m / stokes_m_h(diameter_um, particle_kg_m3, water_kg_m3, viscosity_pa_s)
