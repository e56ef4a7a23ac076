"""UV optics, dose tables, lamp, in the names and units of the published cases."""

from scipy.optimize import brentq

from sim.plant import lamp, uv
from sim.units import HOUR_S
from tests.published.equations.register import equation


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
