"""How much a site uses its pump, on paper, and how long the pump lasts at that."""

import math
from dataclasses import dataclass

from sim.constants import GRAVITY_M_S2, HOUR_S, YEAR_S
from sim.plant import lamp, pump, suction, tank, water
from sim.plant import pump_life as life
from sim.plant.state import SHORT_RUN_S
from sim.scenario.scenario import Scenario
from sim.study.check.finding import Finding
from sim.study.check.site_supply import yearly_demand_m3
from sim.twin.water.unpack import plant_record

COLD_C = 15.0
STARVED_SHARE = 0.99  # of the flow with ample suction head; below it the pump is said to cavitate [A]
WORN_SHARE = 0.7  # of the life an idle pump has; below it use is said to wear the pump out [A]


@dataclass(frozen=True)
class PumpUse:
    """How a site uses its pump."""

    flow_m3_s: float  # mean of the flows at cut-in and cut-out, cistern half full [m3/s]
    drawdown_m3: float  # water the pressure tank gives from cut-out to cut-in [m3]
    run_s: float  # shortest run: to fill the drawdown while nobody uses water [s]
    starts_per_year: float  # were every drawdown used up before the pump starts: the most there can be
    run_h_per_year: float  # of running


def use_of(scenario: Scenario) -> PumpUse:
    """Return how a site uses its pump."""
    switch, vessel = scenario.switch, scenario.tank
    drawdown_m3 = tank.drawdown_m3(
        vessel.volume_m3,
        vessel.precharge_pa,
        switch.cut_in_pa,
        switch.cut_out_pa,
        tank.atmosphere_at_pa(scenario.house.altitude_m),
        vessel.gas_exponent,
    )
    flow_m3_s = sum(pump_flow_m3_s(scenario, at_pa) for at_pa in (switch.cut_in_pa, switch.cut_out_pa)) / 2
    demand_m3 = yearly_demand_m3(scenario)
    idle_s = scenario.pump.stop_delay_s if scenario.pump.holds else 0.0
    return PumpUse(
        flow_m3_s,
        float(drawdown_m3),
        idle_s + drawdown_m3 / flow_m3_s if flow_m3_s > 0 else math.inf,
        demand_m3 / drawdown_m3 if drawdown_m3 > 0 else math.inf,
        min(demand_m3 / flow_m3_s, YEAR_S) / HOUR_S if flow_m3_s > 0 else YEAR_S / HOUR_S,
    )


def worst_starts_per_h(scenario: Scenario) -> float:
    """Return the starts an hour of the steady draw that starts the pump oftenest.

    A pump that holds its pressure runs on under a draw of its least flow or more. Just below that one it
    fills the drawdown, waits and stops, and the draw empties it again.
    """
    use, machine = use_of(scenario), scenario.pump
    if not machine.holds:
        return float(pump.worst_starts_per_hour(use.flow_m3_s, use.drawdown_m3))
    drawn = machine.least_flow_m3_s
    if not 0.0 < drawn < use.flow_m3_s:
        return 0.0
    filling_s = use.drawdown_m3 / (use.flow_m3_s - drawn)
    return float(HOUR_S / (use.drawdown_m3 / drawn + filling_s + machine.stop_delay_s))


def least_pressure_pa(scenario: Scenario, flow_m3_s: float) -> float:
    """Return the pressure at the gauge that a flow can count on: at cut-in, as held, or by the level."""
    switch = scenario.switch
    if scenario.cistern.gravity_feed:
        return scenario.gauge_range_pa()[0]
    low_m = scenario.pump.height_m - scenario.cistern.intake_m
    if scenario.pump.holds and pump_flow_at_m3_s(scenario, switch.cut_out_pa, low_m) >= flow_m3_s:
        return float(switch.cut_out_pa)
    return float(switch.cut_in_pa)


def pump_flow_m3_s(scenario: Scenario, pressure_pa: float) -> float:
    """Return the flow of the pump at a gauge pressure, the cistern half full."""
    return pump_flow_at_m3_s(scenario, pressure_pa, half_full_lift_m(scenario))


def half_full_lift_m(scenario: Scenario) -> float:
    """Return how high the pump stands above the water of a cistern that is half full."""
    return float(scenario.pump.height_m - 0.5 * scenario.cistern.capacity_m3 / scenario.cistern.floor_m2)


def starved(scenario: Scenario, pressure_pa: float, lift_m: float) -> bool:
    """Return whether a want of suction head takes from the flow at a gauge pressure."""
    machine = scenario.pump
    ample_m3_s = pump.flow_m3_s(
        pressure_pa, lift_m, machine.shutoff_head_m, machine.curve_s2_m5, machine.suction_s2_m5,
        water.density_kg_m3(COLD_C),
    )  # fmt: skip
    return bool(pump_flow_at_m3_s(scenario, pressure_pa, lift_m) < STARVED_SHARE * ample_m3_s)


def pump_flow_at_m3_s(scenario: Scenario, pressure_pa: float, lift_m: float) -> float:
    """Return the flow of the pump at a gauge pressure, so high above the water; less where it cavitates."""
    plant = plant_record(scenario)
    plant["density_kg_m3"] = density = water.density_kg_m3(COLD_C)
    plant["air_head_m"] = (plant["atmosphere_pa"] - water.vapour_pressure_pa(COLD_C)) / (
        density * GRAVITY_M_S2
    )
    return float(suction.flow_m3_s(pressure_pa, lift_m, plant[0]))


def life_scale_s(scenario: Scenario) -> float:
    """Return the Weibull scale of the pump's life at the use the site makes of it."""
    machine, use = scenario.pump, use_of(scenario)
    short = use.starts_per_year if use.run_s < SHORT_RUN_S else 0.0
    starts = life.counted_starts(use.starts_per_year, short, machine.short_run_wear_factor)
    return float(
        life.life_scale_s(
            use.run_h_per_year * HOUR_S / YEAR_S,
            starts / YEAR_S,
            machine.life_age_s,
            machine.life_s,
            machine.life_start_count,
            machine.life_shape,
        )
    )


def mean_life_s(scenario: Scenario) -> float:
    """Return how long a pump lasts on average at the use the site makes of it.

    Returns
    -------
    float
        Mean of the Weibull life [s].
    """
    return life_scale_s(scenario) * math.gamma(1.0 + 1.0 / scenario.pump.life_shape)


def pump_life(scenario: Scenario) -> Finding:
    """Say how long half of such pumps last, and at what use."""
    use = use_of(scenario)
    years = lamp.weibull_life_s(math.log(2.0), life_scale_s(scenario), scenario.pump.life_shape) / YEAR_S
    alone = lamp.weibull_life_s(math.log(2.0), scenario.pump.life_age_s, scenario.pump.life_shape) / YEAR_S
    short = ", all of them short" if use.run_s < SHORT_RUN_S else ""
    note = (
        f"half last as long, our assumption, at {use.starts_per_year:,.0f} starts a year at most{short}, and "
        f"{use.run_h_per_year:,.0f} h of running; {alone:.0f} yr where it hardly starts"
    )
    return Finding("pump life", f"{years:.1f} yr", note, years < WORN_SHARE * alone)
