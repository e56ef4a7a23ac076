"""Our equations under the names and in the units of the published cases (`cases/*.csv`)."""

import csv
import math
from collections.abc import Callable
from functools import cache
from importlib.resources import files

import numpy as np
import simpy
from scipy.integrate import quad
from scipy.optimize import brentq, curve_fit, minimize_scalar

from sim.constants import ATMOSPHERE_PA, GRAVITY_M_S2
from sim.demand import peak, pulses
from sim.demand.end_use import EndUse
from sim.demand.profile import profile
from sim.plant import carbon, cartridge, fixture, lamp, pipe, pump, tank, train, uv, water
from sim.scenario.climate import table
from sim.supply import cistern, rain, roof, storage
from sim.units import FOOT_M, GALLON_M3, GPM_M3_S, HOUR_S, INCH_M, LPM_M3_S, POUND_KG, PSI_PA

EQUATIONS: dict[str, Callable] = {}
LB_FT3 = POUND_KG / FOOT_M**3
HORSEPOWER_W = 550.0 * FOOT_M * POUND_KG * GRAVITY_M_S2
MONTH_DAYS = np.array([31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])


def equation(function: Callable) -> Callable:
    """Enter a function under its name."""
    EQUATIONS[function.__name__] = function
    return function


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


@equation
def seattle_month(month, of):
    dates, depth_m = seattle()
    return statistic(rain.fit(depth_m, rain.month_index(dates), 0.0), month, of)


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


# --- demand ---
def use(bound, events, size, flow_gpm, fills):
    volume, duration = (size * GALLON_M3, 0.0) if bound == "volume" else (0.0, size)
    flat = profile("flat")
    return EndUse(
        "use", bound, events, volume, duration, flow_gpm * GPM_M3_S, 60 * PSI_PA, 0.0, 0.0, fills, 900.0,
        1800.0, flat, flat,
    )  # fmt: skip


@equation
def use_busy(bound, events, size, flow_gpm, fills, people):
    return float(peak.busy_by_hour(use(bound, events, size, flow_gpm, fills), people).mean())


@equation
def use_gal_per_day(bound, events, size, flow_gpm, fills, people):
    busy = use_busy(bound, events, size, flow_gpm, fills, people)
    return pulses.flow_mean_m3_s(busy, flow_gpm * GPM_M3_S) * 86400.0 / GALLON_M3


@equation
def idle(busy):
    return pulses.idle_probability(busy)


@equation
def flow_sd_gpm(busy, flow_gpm):
    variance = sum(
        pulses.flow_variance_m6_s2(b, q * GPM_M3_S, 0.0) for b, q in zip(busy, flow_gpm, strict=True)
    )
    return math.sqrt(variance) / GPM_M3_S


@equation
def day_volume_sd_gal(draws, volume_gal):
    variance = sum(
        pulses.daily_volume_variance_m6(n, v * GALLON_M3, 0.0, 0.0)
        for n, v in zip(draws, volume_gal, strict=True)
    )
    return math.sqrt(variance) / GALLON_M3


@equation
def busy_servers(draws_per_day, minutes):
    return pulses.busy_mean(draws_per_day / 86400.0, minutes * 60.0)


@equation
def pulse_flow_mean_l_min(busy, intensity_l_min):
    return pulses.flow_mean_m3_s(busy, intensity_l_min * LPM_M3_S) / LPM_M3_S


@equation
def pulse_flow_variance(busy, intensity_l_min, sd_l_min):
    found = pulses.flow_variance_m6_s2(busy, intensity_l_min * LPM_M3_S, sd_l_min * LPM_M3_S)
    return found / LPM_M3_S**2


@equation
def profile_peak(name, of):
    shares = profile(name)
    return float({"hour": shares.argmax(), "over mean": 24.0 * shares.max()}[of])


@equation
def profile_share(name, hour_from, hour_to):
    return float(profile(name)[int(hour_from) : int(hour_to)].sum())


# --- peak flow ---
@equation
def hunter_gpm(fixtures, probability, flow_gpm, quantile):
    return peak.hunter_flow_m3_s(int(fixtures), probability, flow_gpm, quantile)


@equation
def peak_gpm(fixtures, probability, flow_gpm, method):
    n, p, q = np.asarray(fixtures, dtype=int), np.asarray(probability), np.asarray(flow_gpm) * GPM_M3_S
    found = {
        "zero-truncated 99 %": lambda: peak.zero_truncated_quantile(q, n, p, 0.99),
        "Wistort": lambda: peak.wistort_m3_s(q, n, p),
        "modified Wistort": lambda: peak.modified_wistort_m3_s(q, n, p),
    }
    return found[method]() / GPM_M3_S


# --- pressure tank ---
@equation
def drawdown_gal(tank_gal, cut_in_psi, cut_out_psi, precharge_psi, air_psi=14.7, exponent=1.0):
    psi = (x * PSI_PA for x in (precharge_psi, cut_in_psi, cut_out_psi, air_psi))
    return tank.drawdown_m3(tank_gal * GALLON_M3, *psi, exponent) / GALLON_M3


@equation
def air_psi(altitude_ft):
    return tank.atmosphere_at_pa(altitude_ft * FOOT_M) / PSI_PA


@equation
def starts_per_hour(pump_gpm, drawdown_gal):
    return pump.worst_starts_per_hour(pump_gpm * GPM_M3_S, drawdown_gal * GALLON_M3)


@equation
def sizing_number(cut_in_psi, cut_out_psi):
    return starts_per_hour(1.0, drawdown_gal(1.0, cut_in_psi, cut_out_psi, cut_in_psi - 5.0))


# --- pump ---
@equation
def pump_gpm(psi, shutoff_ft, curve_ft_gpm2):
    curve = curve_ft_gpm2 * FOOT_M / GPM_M3_S**2
    return pump.flow_m3_s(psi * PSI_PA, 0.0, shutoff_ft * FOOT_M, curve, 0.0, 62.37 * LB_FT3) / GPM_M3_S


@equation
def input_hp(gpm, head_ft, water_lb_ft3, efficiency):
    q = gpm * GPM_M3_S
    return pump.electrical_power_w(q, head_ft * FOOT_M, water_lb_ft3 * LB_FT3, efficiency) / HORSEPOWER_W


@equation
def lifting_kwh(gal, psi, efficiency):
    head_m = psi * PSI_PA / (998.2 * GRAVITY_M_S2)
    return pump.electrical_power_w(gal * GALLON_M3 / 3600, head_m, 998.2, efficiency) / 1e3


@equation
def npsh_m(temperature_c, lift_m, loss_m):
    rho, vapour = water.density_kg_m3(temperature_c), water.vapour_pressure_pa(temperature_c)
    return pump.npsh_available_m(ATMOSPHERE_PA, vapour, rho, lift_m, loss_m)


@equation
def suction_limit_ft(water_kg_m3):
    return pump.npsh_available_m(ATMOSPHERE_PA, 0.0, water_kg_m3, 0.0, 0.0) / FOOT_M


# --- pipe ---
@equation
def colebrook(reynolds, relative_roughness):
    return pipe.friction_factor(reynolds, relative_roughness)


@equation
def haaland(reynolds, relative_roughness):
    return pipe.friction_factor_haaland(reynolds, relative_roughness)


@equation
def pipe_psi_per_100_ft(bore_in, gpm):
    q = gpm * GPM_M3_S
    b = pipe.quadratic_pa_s2_m6(q, 100 * FOOT_M, bore_in * INCH_M, 1.5e-6, 0.0, 999.10, 1.13757e-3)
    return train.drop_pa(q, 0.0, b) / PSI_PA


@equation
def minor_psi(gpm, bore_in, k):
    q = gpm * GPM_M3_S
    b = pipe.quadratic_pa_s2_m6(q, 0.0, bore_in * INCH_M, 1.5e-6, k, 999.103, 1.13757e-3)
    return train.drop_pa(q, 0.0, b) / PSI_PA


@equation
def minor_m(speed_m_s, k):
    q = speed_m_s * math.pi / 4 * 0.05**2
    b = pipe.quadratic_pa_s2_m6(q, 0.0, 0.05, 1.5e-6, k, 1000.0, 1e-3)
    return train.drop_pa(q, 0.0, b) / (1000.0 * GRAVITY_M_S2)


# --- fixture ---
@equation
def tap_gpm(rated_gpm, rated_psi, psi):
    k = fixture.coefficient(rated_gpm * GPM_M3_S, rated_psi * PSI_PA)
    return fixture.flow_m3_s(k, psi * PSI_PA) / GPM_M3_S


@equation
def hole_gpm(diameter_in, discharge, psi):
    k = fixture.hole_coefficient(diameter_in * INCH_M, discharge, water.density_kg_m3(15.0))
    return fixture.flow_m3_s(k, psi * PSI_PA) / GPM_M3_S


# --- cartridge, blocking laws, cake ---
LAWS = {
    "complete": cartridge.COMPLETE,
    "standard": cartridge.STANDARD,
    "intermediate": cartridge.INTERMEDIATE,
    "cake": cartridge.CAKE,
}


@equation
def beta_percent(beta):
    return 100 * cartridge.efficiency_from_beta(beta)


@equation
def resistance(law, kv):
    return cartridge.resistance_ratio(kv, LAWS[law], 1.0)


@equation
def time_at_constant_pressure(law, kv):
    return quad(lambda x: cartridge.resistance_ratio(x, LAWS[law], 1.0), 0.0, kv, epsabs=0, epsrel=1e-12)[0]


@equation
def thin_cake_kpa(alpha_m_kg, cake_kg_m2, flux_m_s):
    clean_per_m = 1e10  # cancels
    grown = cartridge.resistance_ratio(alpha_m_kg * cake_kg_m2 / clean_per_m, cartridge.CAKE, 1.0) - 1.0
    return 1e-3 * train.drop_pa(flux_m_s, water.viscosity_pa_s(15.0) * clean_per_m * grown, 0.0)


# Geankoplis, Transport Processes, example 14.2-1: CaCO3 at 298.2 K.
FILTRATION_S = np.array([4.4, 9.5, 16.3, 24.6, 34.7, 46.1, 59.0, 73.6, 89.4, 107.3])
FILTRATION_M3 = 1e-3 * np.array([0.498, 1.000, 1.501, 2.000, 2.498, 3.002, 3.506, 4.004, 4.502, 5.009])
PRESSURE_PA, AREA_M2, SOLIDS_KG_M3, VISCOSITY_PA_S = 338e3, 0.0439, 23.47, 8.937e-4


def mean_resistance(volume_m3, growth_per_m3):
    """Mean of R/R0 while a volume passes: time at constant pressure over that of a clean medium."""
    total, _ = quad(lambda v: cartridge.resistance_ratio(v, cartridge.CAKE, growth_per_m3), 0.0, volume_m3)
    return total / volume_m3


@equation
def cake_fit(points, of):
    """Medium resistance [1/m] or specific cake resistance [m/kg] by least squares on t/V."""
    first = 0 if points == "all ten" else 1
    seconds, volumes = FILTRATION_S[first:], FILTRATION_M3[first:]

    def seconds_per_m3(volume, clean, growth):
        return clean * np.array([mean_resistance(v, growth) for v in volume])

    (clean, growth), _ = curve_fit(seconds_per_m3, volumes, seconds / volumes, p0=(6000.0, 500.0), ftol=1e-14)
    medium = clean * AREA_M2 * PRESSURE_PA / VISCOSITY_PA_S
    return {"medium": medium, "alpha": growth * AREA_M2 * medium / SOLIDS_KG_M3}[of]


@equation
def cake_s(volume_l):
    growth = 1.863e11 * SOLIDS_KG_M3 / (AREA_M2 * 1.063e11)
    clean = VISCOSITY_PA_S * 1.063e11 / (AREA_M2 * PRESSURE_PA)
    return clean * volume_l / 1e3 * mean_resistance(volume_l / 1e3, growth)


@equation
def press_s(slope_s_m6, intercept_s_m3, volume_m3):
    return intercept_s_m3 * volume_m3 * mean_resistance(volume_m3, slope_s_m6 / intercept_s_m3)


# --- carbon ---
@equation
def breakthrough(hours, capacity_kg_m3, bed_m, speed_m_h, feed_kg_m3, rate_m3_kg_h):
    half_h = capacity_kg_m3 * bed_m / (feed_kg_m3 * speed_m_h)
    return 1.0 - carbon.removal_fraction(hours, 1.0, 0.0, half_h, rate_m3_kg_h * feed_kg_m3 * half_h)


@equation
def contact_s(outside_in, core_in, long_in, gpm):
    bed_m3 = math.pi / 4 * (outside_in**2 - core_in**2) * long_in * INCH_M**3
    return carbon.contact_time_s(bed_m3, gpm * GPM_M3_S)


# --- optics ---
@equation
def absorbance_per_cm(percent):
    return uv.absorbance_per_m(percent / 100) / 100


@equation
def percent_per_cm(absorbance_per_cm):
    return 100 * uv.transmittance_per_cm(100 * absorbance_per_cm)


@equation
def water_factor(percent, gap_cm):
    return uv.water_factor(uv.absorbance_per_m(percent / 100), gap_cm / 100)


@equation
def beam_mw_cm2(percent, lamp_mw_cm2, petri, reflection, divergence_cm):
    return lamp_mw_cm2 * petri * reflection * divergence_cm / (divergence_cm + 1) * water_factor(percent, 1.0)


@equation
def beam_s(percent, lamp_mw_cm2, petri, reflection, divergence_cm, dose_mj_cm2):
    return dose_mj_cm2 / beam_mw_cm2(percent, lamp_mw_cm2, petri, reflection, divergence_cm)


@equation
def reading_percent(lamp_output, sleeve, added_absorbance_per_cm, path_cm):
    return 100 * uv.sensor_fraction(
        lamp_output, sleeve, 1.0, 1.0, 100 * added_absorbance_per_cm, 0.0, path_cm / 100
    )


@equation
def percent_at_alarm(reference_percent):
    """UVT at which a far-wall sensor, 2.35 cm off, reads 60 % of what it read in the reference water."""
    reference = uv.absorbance_per_m(reference_percent / 100)
    alarm = brentq(
        lambda a: uv.sensor_fraction(1, 1, 1, 1, a, reference, 0.0235) - 0.6, 0.0, 50.0, xtol=1e-12
    )
    return 100 * uv.transmittance_per_cm(alarm)


@equation
def dose_left_percent(reference_percent):
    reference = uv.absorbance_per_m(reference_percent / 100)
    coloured = uv.absorbance_per_m(percent_at_alarm(reference_percent) / 100)
    return uv.dose_j_m2(1.0, 1.0, 100.0, coloured, reference, 0.0235, 1.0)


@equation
def annulus_mj_cm2(percent, rated_percent, rated_mj_cm2):
    """Sleeve of 1.15 cm radius in a wall of 3.50 cm, at its rated flow."""
    here, rated = (uv.absorbance_per_m(p / 100) for p in (percent, rated_percent))
    return uv.dose_j_m2(1.0, 1.0, 10 * rated_mj_cm2, here, rated, 0.0235, 1.0) / 10


# --- dose tables ---
@equation
def log_credit(organism, dose_mj_cm2):
    return uv.log_credit(10 * dose_mj_cm2, organism)


@equation
def least_new_dose_mj_cm2(target_mj_cm2, alarm_percent):
    return uv.least_protecting_dose_j_m2(10 * target_mj_cm2, alarm_percent / 100) / 10


@equation
def new_dose_mj_cm2(rated_mj_cm2, output_at_end):
    return uv.new_dose_j_m2(10 * rated_mj_cm2, output_at_end) / 10


# --- lamp ---
@equation
def time_constant_h(output, hours):
    return lamp.time_constant_from(output, hours * HOUR_S) / HOUR_S


@equation
def lamp_output(time_constant_h, hours):
    return lamp.output(hours * HOUR_S, time_constant_h * HOUR_S, 100 * HOUR_S, 0.0)


@equation
def film(rate_per_month, months):
    return uv.film_transmittance(rate_per_month * months)


# --- replacement theory: built from the life law the simulation draws with, so a wrong law cannot pass ---
def draw_of(age, scale, shape):
    return brentq(lambda e: lamp.weibull_life_s(e, scale, shape) - age, 0.0, 700.0, xtol=1e-15, rtol=1e-14)


def mean_power_of_age(age, scale, shape, power=1):
    kink = draw_of(age, scale, shape)
    lived, _ = quad(
        lambda e: lamp.weibull_life_s(e, scale, shape) ** power * math.exp(-e),
        0.0,
        kink,
        epsabs=0,
        epsrel=1e-12,
    )
    return lived + age**power * math.exp(-kink)


@equation
def cost_rate(age, scale, shape, planned, failed):
    survives = math.exp(-draw_of(age, scale, shape))
    return (planned * survives + failed * (1 - survives)) / mean_power_of_age(age, scale, shape)


@equation
def best_age(scale, shape, planned, failed, of):
    found = minimize_scalar(
        lambda t: cost_rate(t, scale, shape, planned, failed),
        bounds=(0.05 * scale, 2.0 * scale),
        method="bounded",
        options={"xatol": 1e-7 * scale},
    )
    return {"age": found.x, "cost rate": found.fun}[of]


@equation
def weibull_mean(scale, shape):
    return mean_power_of_age(10.0 * scale, scale, shape)


# --- queue: the resource that crews use ---
def stays(arrivals, services, crew):
    """Return when jobs came, how long they waited and how long they stayed, in the order they came."""
    env = simpy.Environment()
    technician = simpy.Resource(env, capacity=int(crew))
    found = []

    def job(came, service):
        yield env.timeout(came)
        with technician.request() as turn:
            yield turn
            waited = env.now - came
            yield env.timeout(service)
        found.append((came, waited, env.now - came))

    for came, service in zip(arrivals, services, strict=True):
        env.process(job(came, service))
    env.run()
    return np.array(sorted(found))


@equation
def waits(arrivals, services, crew):
    return stays(arrivals, services, crew)[:, 1]


@cache
def shop():
    """Jobs at random, one every 1.25 min, each of 1 min on average, at one technician: 160,000 of them."""
    rng = np.random.default_rng(2601)
    jobs = 160_000
    return stays(np.cumsum(rng.exponential(1.25, jobs)), rng.exponential(1.0, jobs), 1)[2_000:]


@equation
def random_shop(of):
    found = shop()
    return float({"wait": found[:, 1], "stay": found[:, 2]}[of].mean())


# --- water ---
@equation
def vapour_pressure_pa(temperature_c):
    return water.vapour_pressure_pa(temperature_c)


@equation
def viscosity_upa_s(temperature_c):
    return 1e6 * water.viscosity_pa_s(temperature_c)
