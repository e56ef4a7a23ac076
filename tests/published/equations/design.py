"""Peaks by count of fixtures, velocity, suction, credit, in the names and units of the published cases."""

from sim.demand import fixtures as counted
from sim.plant import pipe, pump, uv
from sim.plant.uv_credit import credited_dose_j_m2
from sim.study.size.rules_of_thumb import RULE_SHARE
from sim.units import FOOT_M, GPM_M3_S, INCH_M
from tests.published.equations.register import equation

ORDER = (
    "toilet", "basin", "bath with shower", "shower", "kitchen sink", "dishwasher", "clothes washer",
    "laundry tub",
)  # fmt: skip


def house(fixtures):
    return {name: int(count) for name, count in zip(ORDER, fixtures, strict=True) if count}


@equation
def fixture_units(fixtures):
    return counted.fixture_units(house(fixtures))


@equation
def units_of_one(fixture, method):
    units = {"IPC": counted.fixture_units, "EN 806-3": counted.loading_units}
    return units[method]({fixture: 1})


@equation
def fixture_units_gpm(fixtures, table):
    return counted.by_fixture_units_m3_s(house(fixtures), table) / GPM_M3_S


@equation
def loading_units(fixtures):
    return counted.loading_units(house(fixtures))


@equation
def loading_units_gpm(fixtures):
    return counted.by_loading_units_m3_s(house(fixtures)) / GPM_M3_S


@equation
def statistical_gpm(fixtures):
    return counted.statistical_m3_s(house(fixtures)) / GPM_M3_S


@equation
def velocity_ft_s(gpm, bore_in):
    return pipe.velocity_m_s(gpm * GPM_M3_S, bore_in * INCH_M) / FOOT_M


@equation
def npsh_ft(air_ft, vapour_ft, flooded_ft, loss_ft):
    weight = 1000.0 * 9.80665  # of a cubic metre; heads are given, so it cancels
    heads = (air_ft * FOOT_M * weight, vapour_ft * FOOT_M * weight)
    return pump.npsh_available_m(*heads, 1000.0, -flooded_ft * FOOT_M, loss_ft * FOOT_M) / FOOT_M


@equation
def credit_mj_cm2(gpm, percent, rated_gpm, rated_percent, dose_mj_cm2):
    flows = (gpm * GPM_M3_S, percent / 100.0, rated_gpm * GPM_M3_S, rated_percent / 100.0)
    return credited_dose_j_m2(*flows, 10.0 * dose_mj_cm2) / 10.0


@equation
def percent_over_10_cm(percent_over_1_cm):
    return 100.0 * uv.transmittance_per_cm(10.0 * uv.absorbance_per_m(percent_over_1_cm / 100.0))


@equation
def rule_days():
    return RULE_SHARE * 365.0
