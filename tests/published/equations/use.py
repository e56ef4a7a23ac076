"""Demand and peak flow, in the names and units of the published cases."""

import math

import numpy as np

from sim.demand import peak
from sim.demand.end_use import EndUse
from sim.demand.profile import profile
from sim.units import GALLON_M3, GPM_M3_S, LPM_M3_S, PSI_PA
from tests.published.equations.register import equation
from tests.theory import pulses


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
    return use_busy(bound, events, size, flow_gpm, fills, people) * flow_gpm * 1440.0


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
def zero_truncated_gpm(fixtures, probability, flow_gpm):
    return peak.zero_truncated_quantile(*kinds(fixtures, probability, flow_gpm), 0.99) / GPM_M3_S


def kinds(fixtures, probability, flow_gpm):
    return np.asarray(flow_gpm) * GPM_M3_S, np.asarray(fixtures, dtype=int), np.asarray(probability)
