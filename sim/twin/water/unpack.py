"""Unpack a scenario into the record the compiled code reads."""

import math
from typing import Any

import numpy as np

from sim.constants import DAY_S
from sim.plant import cartridge, cause, fixture, lamp, pipe, pump_life, tank, uv, water
from sim.plant.state import PLANT
from sim.scenario.scenario import Scenario
from sim.scenario.train import Uv
from sim.supply import solids
from sim.twin.clean_stage import clean
from sim.twin.water.house import AGEING, HOUSE, SECOND, SITE, STAGE

LEAST_BAND_PA = 1e4  # a switch that has drifted down to nothing still has a spring of its own [A]
STEP_SHARE = 0.02  # of the air volume; halving it changes no draw by more than a millionth


def house_record(scenario: Scenario, sleeve_factor: float, window_factor: float) -> np.ndarray:
    """Return the house as new: an array of one record of `HOUSE`."""
    house, store, roof = np.zeros(1, HOUSE), scenario.cistern, scenario.roof
    house["plant"] = plant_record(scenario)
    house["site"] = site_record(scenario, sleeve_factor, window_factor)
    house["ageing"] = ageing_record(scenario)
    house["stages"][0, : len(scenario.stages)] = stage_records(scenario)
    house["faults"]["share"] = house["faults"]["reading_left"] = 1.0
    house["parts"]["life_s"][0, SECOND] = math.inf
    house["clock"]["torn"], house["clock"]["first_day"] = -1, scenario.start.timetuple().tm_yday
    house["clock"]["order_m3"] = store.top_up_below * store.capacity_m3
    s, w = house["state"], house["water"]
    s["cistern_m3"] = start_m3 = store.start_fill * store.capacity_m3
    s["power"] = 1
    s["why_cold"], s["why_low"] = cause.OTHER, cause.NONE
    w["colour"] = store.start_colour_per_m * start_m3
    w["dust_kg_m2"] = 0.5 * roof.dust_limit_kg_m2
    w["roof_colour"] = 0.5 * roof.colour_limit_mm_per_m * 1e-3
    w["solids_kg"] = store.start_solids_kg_m3 * start_m3 * house["site"]["fractions"]
    w["sludge_kg"] = store.start_sludge_kg_m2 * store.floor_m2 * house["site"]["fractions"]
    return house


def plant_record(scenario: Scenario) -> np.ndarray:
    """Return the plant as new."""
    sc, depth = scenario, scenario.cistern.floor_m2
    values = {
        "tank_m3": sc.tank.volume_m3,
        "precharge_pa": sc.tank.precharge_pa,
        "atmosphere_pa": tank.atmosphere_at_pa(sc.house.altitude_m),
        "exponent": sc.tank.gas_exponent,
        "cut_in_pa": sc.switch.cut_in_pa,
        "cut_out_pa": sc.switch.cut_out_pa,
        "shutoff_head_m": sc.pump.shutoff_head_m,
        "curve_s2_m5": sc.pump.curve_s2_m5,
        "suction_s2_m5": sc.pump.suction_s2_m5,
        "npsh_required_m": sc.pump.npsh_required_m,
        "height_m": sc.pump.height_m,
        "floor_m2": sc.cistern.floor_m2,
        "intake_m3": sc.cistern.intake_m * depth,
        "restart_m3": min((sc.cistern.intake_m + sc.restart_m) * depth, sc.cistern.capacity_m3),
        "gravity": int(sc.cistern.gravity_feed),
        "mains_m3_s": sc.cistern.mains_m3_s or 0.0,
        "mains_below_m3": sc.cistern.mains_below_m3,
        "mains_until_m3": sc.cistern.mains_until * sc.cistern.capacity_m3,
        "best_flow_m3_s": sc.pump.best_flow_m3_s,
        "best_efficiency": sc.pump.best_efficiency,
        "holds": int(sc.pump.holds),
        "drive_efficiency": sc.pump.drive_efficiency if sc.pump.holds else 1.0,
        "least_pumped_m3_s": sc.pump.least_flow_m3_s,
        "stop_delay_s": sc.pump.stop_delay_s,
        "leak_coefficient": fixture.coefficient(sc.house.leak_m3_s, sc.house.leak_reference_pa),
        "least_flow_m3_s": sc.uv.least_flow_m3_s,
        "target_j_m2": sc.uv.target_j_m2,
        "most_m3_s": sc.uv.most_flow_m3_s,
        "low_tap_pa": sc.house.low_tap_pa,
        "served_share": sc.house.served_share,
        "warm_up_s": sc.uv.warm_up_s,
        "step_share": STEP_SHARE,
        "pump_works": int(not sc.cistern.gravity_feed),
        "lamp_works": 1,
        "valve": int(sc.uv.shutoff_valve),
    }
    return _filled(PLANT, values)


def ageing_record(scenario: Scenario) -> np.ndarray:
    """Return how parts age, the tank's precharge as new."""
    tank, switch, machine = scenario.tank, scenario.switch, scenario.pump
    values = {
        "precharge_pa": tank.precharge_pa,
        "precharge_kept": math.exp(-tank.precharge_loss_per_s * DAY_S),
        "drift_pa": switch.drift_pa_per_s * DAY_S,
        "band_pa": min(LEAST_BAND_PA, switch.cut_out_pa - switch.cut_in_pa),
        "head_m": machine.shutoff_head_m,
        "head_wear_per_s": machine.wear_per_s,
        "lamp_start_s": scenario.uv.start_wear_s,
        "cavitates_m3": cavitation_m3(scenario),
        "cavitation_factor": machine.cavitation_wear_factor,
        "short_run_factor": machine.short_run_wear_factor,
        "life_age_s": machine.life_age_s,
        "life_run_s": machine.life_s,
        "life_start_count": machine.life_start_count,
        "life_shape": machine.life_shape,
    }
    return _filled(AGEING, values)


def _filled(record: np.dtype, values: dict[str, Any]) -> np.ndarray:
    """Return an array of one record with some of its fields."""
    found = np.zeros(1, record)
    for name, value in values.items():
        found[name] = value
    return found


def pipe_quadratic_pa_s2_m6(scenario: Scenario, water_c: float = 15.0) -> float:
    """Return the quadratic coefficient of pipe, fittings and the two isolation valves."""
    house = scenario.house
    return pipe.quadratic_pa_s2_m6(
        house.friction_flow_m3_s,
        house.pipe_length_m,
        house.pipe_bore_m,
        house.pipe_roughness_m,
        house.fittings_k + 2.0 * house.valve_k,
        water.density_kg_m3(water_c),
        water.viscosity_pa_s(water_c),
    )


def cavitation_m3(scenario: Scenario) -> float:
    """Return the water in the cistern below which the pump cavitates: warmest water, best flow."""
    machine, store = scenario.pump, scenario.cistern
    warm_c = store.water_mean_c + store.water_swing_c
    depth_m = pump_life.cavitation_depth_m(
        tank.atmosphere_at_pa(scenario.house.altitude_m),
        water.vapour_pressure_pa(warm_c),
        water.density_kg_m3(warm_c),
        machine.height_m,
        machine.suction_s2_m5 * machine.best_flow_m3_s**2,
        machine.npsh_required_m,
    )
    return float(depth_m * store.floor_m2)


def _bypass_quadratic_m4(scenario: Scenario) -> float:
    """Return the quadratic coefficient of the bypass over the density of the water: fittings, no length."""
    house = scenario.house
    return pipe.quadratic_pa_s2_m6(
        house.friction_flow_m3_s, 0.0, house.pipe_bore_m, house.pipe_roughness_m, house.bypass_k, 1.0, 1e-3
    )


def site_record(scenario: Scenario, sleeve_factor: float, window_factor: float) -> np.ndarray:
    """Return what stays the same about roof, cistern and UV unit."""
    roof, store, unit = scenario.roof, scenario.cistern, scenario.uv
    same = set(SITE.names or ())
    parts = [(part, name) for part in (roof, store, unit) for name in same & set(type(part).model_fields)]
    values = {name: getattr(part, name) for part, name in parts} | {
        "washoff_per_m": roof.dust_washoff_per_m,
        "colour_limit": roof.colour_limit_mm_per_m * 1e-3,
        "intake_m3": store.intake_m * store.floor_m2,
        "calming": 0.5 if store.calmed_inlet else 1.0,
        "sleeve_film_per_s": unit.sleeve_film_per_s * sleeve_factor,
        "window_film_per_s": unit.window_film_per_s * window_factor,
        "lamp_tau_s": lamp.time_constant_from(
            unit.output_at_end / (1.0 - unit.burn_in_loss), unit.rated_life_s
        ),
        "dose_new_j_m2": unit.in_row * uv.new_dose_j_m2(unit.dose_at_rating_j_m2, unit.light_at_rating),
        "rated_flow_m3_s": unit.whole_rated_flow_m3_s,
        "rated_absorbance_per_m": uv.absorbance_per_m(unit.rated_transmittance),
        "pipe_quadratic": pipe_quadratic_pa_s2_m6(scenario),
        "bypass_quadratic_m4": _bypass_quadratic_m4(scenario),
        **_one_dark(unit),
        "uv_linear": unit.whole_linear_pa_s_m3,
        "uv_quadratic": unit.whole_quadratic_pa_s2_m6 + unit.restrictor_pa_s2_m6,
        "most_m3_s": unit.most_flow_m3_s,
        "lift_m": scenario.house.lift_m,
        "reading_flow_m3_s": scenario.gauge.reading_flow_m3_s,
        "diameters_m": solids.CLASS_DIAMETERS_M,
        "fractions": solids.class_fractions(roof.grain_median_m, roof.grain_spread),
        "stage_count": len(scenario.stages),
    }
    return _filled(SITE, values)


def _one_dark(unit: Uv) -> dict[str, float]:
    """Return what a train of two units comes to when one is dark.

    In a row the other gives its own dose. Side by side the valve of the dark one lets the other take all
    water; without valves half of the water has no dose, and mixed water counts as none.
    """
    least_m3_s = unit.least_flow_m3_s
    found = {"uv_units": unit.units, "uv_left": 1.0 / unit.units}
    found |= {"uv_least_m3_s": least_m3_s, "uv_least_left_m3_s": least_m3_s}
    if unit.lanes == 1:
        return found
    if not unit.shutoff_valve:
        return found | {"uv_left": 0.0}
    return found | {
        "uv_least_left_m3_s": least_m3_s / unit.lanes,
        "uv_shut_linear": unit.linear_pa_s_m3 - unit.whole_linear_pa_s_m3,
        "uv_shut_quadratic": unit.quadratic_pa_s2_m6 - unit.whole_quadratic_pa_s2_m6,
    }


def stage_records(scenario: Scenario) -> np.ndarray:
    """Return the stages as new: records of `STAGE`, shape (n,)."""
    stages = np.zeros(len(scenario.stages), STAGE)
    for one, stage in zip(stages, scenario.stages, strict=True):
        linear, quadratic = clean(stage)
        rated = linear * stage.rated_flow_m3_s
        half = cartridge.efficiency_half_size_m(stage.rating_m, stage.efficiency_at_rating, stage.sharpness)
        values = {
            "linear": linear,
            "quadratic": quadratic,
            "capacity_kg": stage.dirt_capacity_kg * stage.housings,
            "growth": cartridge.growth_for(stage.exponent, 1.0 + stage.terminal_rise_pa / rated),
            "exponent": stage.exponent,
            "plateau_share": stage.plateau,
            "scatter": 1.0,
            "bed_m3": stage.carbon_bed_m3 * stage.housings,
            "initial": stage.carbon_initial,
            "floor": stage.carbon_floor,
            "half_bed_volumes": stage.carbon_half_bed_volumes,
            "steepness": stage.carbon_steepness,
            "collapse_pa": stage.collapse_pa,
            "released": stage.released_share,
            "resistance": linear,
            "catch": [
                cartridge.capture_efficiency(diameter_m, half, stage.sharpness)
                for diameter_m in solids.CLASS_DIAMETERS_M
            ],
        }
        for name, value in values.items():
            one[name] = value
    return stages
