"""Pressure tank, pump, pipe, fixture, water, in the names and units of the published cases."""

import math

from sim.constants import ATMOSPHERE_PA, GRAVITY_M_S2
from sim.plant import fixture, pipe, pump, tank, train, water
from sim.units import FOOT_M, GALLON_M3, GPM_M3_S, INCH_M, POUND_KG, PSI_PA
from tests.published.equations.register import equation

LB_FT3 = POUND_KG / FOOT_M**3
HORSEPOWER_W = 550.0 * FOOT_M * POUND_KG * GRAVITY_M_S2


# --- pressure tank ---
@equation
def drawdown_gal(tank_gal, cut_in_psi, cut_out_psi, precharge_psi, air_psi=14.7, exponent=1.0):
    psi = (x * PSI_PA for x in (precharge_psi, cut_in_psi, cut_out_psi, air_psi))
    return tank.drawdown_m3(tank_gal * GALLON_M3, *psi, exponent) / GALLON_M3


@equation
def air_psi(altitude_ft):
    return tank.atmosphere_at_pa(altitude_ft * FOOT_M) / PSI_PA


@equation
def air_kpa(altitude_m):
    """At a height above the sea, which the table states, as the geopotential altitude that the law takes."""
    earth_m = 6356766.0  # nominal radius, ISO 2533
    return tank.atmosphere_at_pa(altitude_m * earth_m / (earth_m + altitude_m)) / 1e3


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


# --- water ---
@equation
def vapour_pressure_pa(temperature_c):
    return water.vapour_pressure_pa(temperature_c)


@equation
def viscosity_upa_s(temperature_c):
    return 1e6 * water.viscosity_pa_s(temperature_c)


@equation
def viscosity_cp(temperature_c):
    return 1e3 * water.viscosity_pa_s(temperature_c)


@equation
def density_kg_m3(temperature_c):
    return water.density_kg_m3(temperature_c)


@equation
def vapour_pressure_kpa(temperature_c):
    return water.vapour_pressure_pa(temperature_c) / 1e3


@equation
def vapour_psi(temperature_f):
    return water.vapour_pressure_pa((temperature_f - 32.0) / 1.8) / PSI_PA
