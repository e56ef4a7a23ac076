"""The formulas of the published cases of grade C, each written again with nothing of `sim/` in it.

Expected numbers of an equation that stands here are held against it. It was written after them; a case of
grade C whose equation does not stand here rests on a program that was not kept, and is counted apart.
"""

import csv
import math
from collections.abc import Callable
from functools import cache
from importlib.resources import files

import numpy as np
from iapws import IAPWS95
from scipy import stats
from scipy.integrate import quad
from scipy.optimize import brentq, minimize_scalar

GPM, INCH, FOOT, PSI, GRAVITY = 231 * 0.0254**3 / 60, 0.0254, 0.3048, 6894.757293168, 9.80665
GALLON, ATMOSPHERE = 231 * 0.0254**3, 101325.0
# Of the study of peaks, in the order of its fixtures; from memory.
OPEN = (0.01, 0.02, 0.055, 0.045, 0.02, 0.005, 0.055, 0.02)
FLOW_GPM = (3.0, 1.5, 5.5, 2.0, 2.2, 1.3, 3.5, 2.0)
ROUGH_M, PIPE_RHO, PIPE_MU = 1.5e-6, 999.10, 1.13757e-3  # of the pipe cases: water at 15 C


# --- filters ---
def resistance(law, kv):
    """Hermia's laws at constant rate."""
    return {
        "complete": 1 / (1 - kv),
        "standard": (1 - kv / 2) ** -2,
        "intermediate": math.exp(kv),
        "cake": 1 + kv,
    }[law]


def thin_cake_kpa(alpha_m_kg, cake_kg_m2, flux_m_s):
    return IAPWS95(T=288.15, P=0.101325).mu * alpha_m_kg * cake_kg_m2 * flux_m_s / 1e3


def breakthrough(hours, capacity_kg_m3, bed_m, speed_m_h, feed_kg_m3, rate_m3_kg_h):
    bed = rate_m3_kg_h * capacity_kg_m3 * bed_m / speed_m_h
    return 1 / (1 + math.exp(bed - rate_m3_kg_h * feed_kg_m3 * hours))


# --- light ---
def water_factor(percent, gap_cm):
    through = (percent / 100) ** gap_cm
    return (1 - through) / -math.log(through) if percent < 100 else 1.0


def beam_mw_cm2(percent, lamp_mw_cm2, petri, reflection, divergence_cm):
    factor = water_factor(percent, 1.0) * divergence_cm / (divergence_cm + 1)
    return lamp_mw_cm2 * petri * reflection * factor


def beam_s(dose_mj_cm2, **beam):
    return dose_mj_cm2 / beam_mw_cm2(**beam)


def reading_percent(lamp_output, sleeve, added_absorbance_per_cm, path_cm):
    return 100 * lamp_output * sleeve * 10 ** (-added_absorbance_per_cm * path_cm)


def percent_at_alarm(reference_percent):
    return 100 * 10 ** (math.log10(reference_percent / 100) + math.log10(0.6) / 2.35)


def dose_left_percent(reference_percent):
    return (
        100 * water_factor(percent_at_alarm(reference_percent), 2.35) / water_factor(reference_percent, 2.35)
    )


def annulus_mj_cm2(percent, rated_percent, rated_mj_cm2):
    ratio = water_factor(percent, 2.35) / water_factor(rated_percent, 2.35)
    return rated_mj_cm2 * ratio


# --- pressure ---
def drawdown_gal(tank_gal, cut_in_psi, cut_out_psi, precharge_psi, air_psi=14.7, exponent=1.0):
    def air_gal(psi):
        return tank_gal * min(1.0, ((precharge_psi + air_psi) / (psi + air_psi)) ** (1 / exponent))

    return air_gal(cut_in_psi) - air_gal(cut_out_psi)


def air_psi(altitude_ft):
    return ATMOSPHERE * (1 - 0.0065 * altitude_ft * FOOT / 288.15) ** (GRAVITY / (0.0065 * 287.05287)) / PSI


def colebrook(reynolds, relative_roughness):
    def miss(root):
        return root + 2 * math.log10(relative_roughness / 3.7 + 2.51 * root / reynolds)

    return brentq(miss, 1.0, 30.0, xtol=1e-14) ** -2


def haaland(reynolds, relative_roughness):
    return (1.8 * math.log10((relative_roughness / 3.7) ** 1.11 + 6.9 / reynolds)) ** -2


def speed_m_s(gpm, bore_in):
    return gpm * GPM / (math.pi / 4 * (bore_in * INCH) ** 2)


def pipe_psi_per_100_ft(bore_in, gpm):
    bore, speed = bore_in * INCH, speed_m_s(gpm, bore_in)
    friction = colebrook(PIPE_RHO * speed * bore / PIPE_MU, ROUGH_M / bore)
    return friction * 100 * FOOT / bore * PIPE_RHO * speed**2 / 2 / PSI


def npsh_m(temperature_c, lift_m, loss_m):
    water = IAPWS95(T=273.15 + temperature_c, P=0.101325)
    vapour_pa = 1e6 * IAPWS95(T=273.15 + temperature_c, x=0).P
    return (ATMOSPHERE - vapour_pa) / (water.rho * GRAVITY) - lift_m - loss_m


def stokes_m_h(diameter_um, particle_kg_m3, water_kg_m3, viscosity_pa_s):
    heavier = particle_kg_m3 - water_kg_m3
    return 3600 * GRAVITY * heavier * (diameter_um * 1e-6) ** 2 / (18 * viscosity_pa_s)


# --- use ---
def use_busy(bound, events, size, flow_gpm, fills, people):
    seconds = 60 * size / flow_gpm if bound == "volume" else size
    return people * events * seconds / 86400


def zero_truncated_gpm(fixtures, probability, flow_gpm):
    """Every number of open fixtures enumerated; flows to a thousandth of a gallon a minute."""
    law = {0: 1.0}
    for count, chance, flow in zip(fixtures, probability, flow_gpm, strict=True):
        more: dict[int, float] = {}
        for opened, share in enumerate(stats.binom.pmf(range(int(count) + 1), int(count), chance)):
            for at, before in law.items():
                here = at + opened * round(1000 * flow)
                more[here] = more.get(here, 0.0) + before * share
        law = more
    open_share, sum_share = 1 - law.pop(0), 0.0
    for at in sorted(law):
        sum_share += law[at]
        if sum_share >= 0.99 * open_share:
            return at / 1000
    raise AssertionError("shares do not sum to one")


# --- replacement ---
def cost_rate(age, scale, shape, planned, failed):
    survives = math.exp(-((age / scale) ** shape))
    lived, _ = quad(lambda t: math.exp(-((t / scale) ** shape)), 0.0, age, epsrel=1e-12)
    return (planned * survives + failed * (1 - survives)) / lived


def best_age(scale, shape, planned, failed, of):
    inside = (0.05 * scale, 2.0 * scale)
    least = minimize_scalar(
        lambda t: cost_rate(t, scale, shape, planned, failed),
        bounds=inside, method="bounded", options={"xatol": 1e-7 * scale},
    )  # fmt: skip
    return {"age": least.x, "cost rate": least.fun}[of]


# --- rain and store ---
def store_series(rule, inflow, demand, capacity, of):
    held, found = 0.0, {"yield": [], "spill": [], "volume": []}
    for came in inflow:
        ahead = held if rule == "yield after spillage" else held + came
        given = min(demand, ahead)
        if rule == "yield after spillage":
            spilt = max(held + came - capacity, 0.0)
            held = min(held + came - given, capacity - given)
            spilt = max(spilt, 0.0)
        else:
            spilt = max(held + came - given - capacity, 0.0)
            held = min(held + came - given, capacity)
        for name, value in (("yield", given), ("spill", spilt), ("volume", held)):
            found[name].append(value)
    return sum(found["yield"]) / (demand * len(inflow)) if of == "met" else found[of]


@cache
def seattle():
    """Months and depths [mm], day by day."""
    text = files("vega_datasets").joinpath("_data/seattle-weather.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    months = [int(row["date"].replace("/", "-").split("-")[1]) for row in rows]
    return np.array(months), np.array([float(row["precipitation"]) for row in rows])


def chain(month, of):
    """Counts of wet after dry and wet after wet, and the likeliest gamma law of wet days; a month or all."""
    months, mm = seattle()
    wet, here = mm > 0, (months == month) if month else np.full(months.size, True)
    if of in ("p01", "p11", "wet share"):
        p01, p11 = (float(wet[1:][here[1:] & (wet[:-1] == before)].mean()) for before in (False, True))
        return {"p01": p01, "p11": p11, "wet share": p01 / (1 + p01 - p11)}[of]
    shape, _, scale = stats.gamma.fit(mm[wet & here], floc=0)
    return {"shape": shape, "scale mm": scale, "mean mm": shape * scale}[of]


def wet_days(days, p_wet_after_wet, p_wet_after_dry):
    return days * p_wet_after_dry / (1 + p_wet_after_dry - p_wet_after_wet)


def yearly_rain_in(wet_day_mean_in, p_wet_after_wet, p_wet_after_dry):
    days = (31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    parts = zip(days, wet_day_mean_in, p_wet_after_wet, p_wet_after_dry, strict=True)
    return sum(mean * wet_days(d, p11, p01) for d, mean, p11, p01 in parts)


# By the name of the equation.
PROGRAMS: dict[str, Callable] = {
    one.__name__: one
    for one in (
        resistance, thin_cake_kpa, breakthrough, water_factor, beam_mw_cm2, beam_s,
        reading_percent, percent_at_alarm, dose_left_percent, annulus_mj_cm2, use_busy,
        zero_truncated_gpm, drawdown_gal, air_psi, colebrook, haaland, pipe_psi_per_100_ft, npsh_m,
        stokes_m_h, cost_rate, best_age, store_series, wet_days, yearly_rain_in,
    )
} | {
    "absorbance_per_cm": lambda percent: -math.log10(percent / 100),
    "percent_per_cm": lambda absorbance_per_cm: 100 * 10**-absorbance_per_cm,
    "percent_over_10_cm": lambda percent_over_1_cm: 100 * (percent_over_1_cm / 100) ** 10,
    "least_new_dose_mj_cm2": lambda target_mj_cm2, alarm_percent: 100 * target_mj_cm2 / alarm_percent,
    "new_dose_mj_cm2": lambda rated_mj_cm2, output_at_end: rated_mj_cm2 / output_at_end,
    "time_constant_h": lambda output, hours: -hours / math.log(output),
    "velocity_ft_s": lambda gpm, bore_in: speed_m_s(gpm, bore_in) / FOOT,
    "minor_psi": lambda gpm, bore_in, k: k * 999.103 * speed_m_s(gpm, bore_in) ** 2 / 2 / PSI,
    "tap_gpm": lambda rated_gpm, rated_psi, psi: rated_gpm * math.sqrt(psi / rated_psi),
    "lifting_kwh": lambda gal, psi, efficiency: gal * GALLON * psi * PSI / efficiency / 3.6e6,
    "starts_per_hour": lambda pump_gpm, drawdown_gal: 60 * pump_gpm / (4 * drawdown_gal),
    "weibull_mean": lambda scale, shape: scale * math.gamma(1 + 1 / shape),
    "runoff_gal": lambda rain_in, area_ft2: rain_in * area_ft2 * 144 / 231,
    "runoff_l": lambda rain_mm, area_m2, loss_mm, coefficient: (rain_mm - loss_mm) * coefficient * area_m2,
    "use_gal_per_day": lambda **use: use_busy(**use) * use["flow_gpm"] * 1440,
    "statistical_gpm": lambda fixtures: zero_truncated_gpm(fixtures, OPEN, FLOW_GPM),
    "fall_h": lambda depth_m, **of: depth_m / stokes_m_h(**of),
    "seattle_month": lambda month, of: chain(int(month), of),
    "seattle_pooled": lambda of: chain(0, of),
}  # fmt: skip
