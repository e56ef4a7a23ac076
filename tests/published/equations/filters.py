"""Cartridge, blocking laws, cake filtration, carbon, in the names and units of the published cases."""

import math

import numpy as np
from scipy.integrate import quad
from scipy.optimize import curve_fit

from sim.plant import carbon, cartridge, train, water
from sim.units import GPM_M3_S, INCH_M
from tests.published.equations.register import equation

# --- cartridge, blocking laws, cake ---
LAWS = {
    "complete": cartridge.COMPLETE,
    "standard": cartridge.STANDARD,
    "intermediate": cartridge.INTERMEDIATE,
    "cake": cartridge.CAKE,
}


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
