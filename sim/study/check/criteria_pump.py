"""Pump, tank and pressure held against their criteria."""

from collections.abc import Iterator
from dataclasses import replace

from sim.constants import GRAVITY_M_S2, YEAR_DAYS
from sim.plant import pump, tank, water
from sim.scenario.scenario import Scenario
from sim.study.check.criterion import FAIL, UNKNOWN, Judged, criteria, judge
from sim.study.check.pump_use import (
    COLD_C,
    pump_flow_at_m3_s,
    pump_flow_m3_s,
    starved,
    use_of,
    worst_starts_per_h,
)
from sim.study.check.site_check import by_gravity_m3_s, tap_pressure_pa
from sim.units import PSI_PA, Units, text

SMALL_MOTOR_W = 0.75 * 745.7  # 3/4 hp, on the shaft
MOTOR_SHARE = 0.75  # of the electric power that reaches the shaft [A]
LARGE_MOTOR_RUN_S = 120.0
PLAIN_TAP_PA = 8.0 * PSI_PA
MIXING = frozenset({"shower", "bath", "bath with shower"})
RESTRICTOR_UNDER = 0.85  # of a constant-flow restrictor's nominal flow that may pass at the least [M]
SUCTION_RATIO, SUCTION_SPARE_M = 1.3, 1.0  # over the head the pump needs [A]


def pumping(scenario: Scenario, flow_m3_s: float | None, units: Units) -> Iterator[Judged]:
    """Hold the pump and its tank against their criteria, at a design flow where there is one."""
    yield _peak(scenario, flow_m3_s, units)
    yield _highest_tap(scenario, flow_m3_s, units)
    yield judge("static", static_pa(scenario), units)
    if scenario.cistern.gravity_feed:
        return  # neither starts nor suction, and no pressure above that of the full cistern
    yield _dead_head(scenario, units)
    use = use_of(scenario)
    most = scenario.pump.most_starts_per_h
    own = "as the pump's sheet allows" if most else ""
    if scenario.pump.holds:
        own = "; ".join(filter(None, (own, "under a steady draw of just less than pump.least_flow")))
    yield judge("starts an hour", worst_starts_per_h(scenario), units, most, note=own)
    yield judge(
        "starts a day", use.starts_per_year / YEAR_DAYS, units, note="every drawdown used up first: the most"
    )
    shaft_w = _shaft_w(scenario)
    long_s = LARGE_MOTOR_RUN_S if shaft_w > SMALL_MOTOR_W else None
    motor = f"motor of {shaft_w:.0f} W on the shaft"
    if scenario.pump.holds:
        motor += "; the limit is of motors started at full speed: ask what the drive allows"
    if pump_flow_m3_s(scenario, scenario.switch.cut_out_pa) <= 0.0:
        motor += "; it never reaches cut-out, so it does not stop"
    yield judge("run", use.run_s, units, long_s, note=motor)
    off_s = None if not flow_m3_s else use.drawdown_m3 / flow_m3_s
    yield judge("off", off_s, units, note=_no_flow(flow_m3_s))
    yield _suction(scenario, flow_m3_s, units)


def _peak(scenario: Scenario, flow_m3_s: float | None, units: Units) -> Judged:
    """Hold what comes at the least against the peak: of the pump, or of a restrictor that holds less."""
    pumped, held = flow_at_intake_m3_s(scenario), RESTRICTOR_UNDER * scenario.uv.most_flow_m3_s
    note = _no_flow(flow_m3_s) or _what_holds(scenario, pumped, held)
    return judge("peak flow", min(pumped, held), units, flow_m3_s, note=note)


def _what_holds(scenario: Scenario, pumped_m3_s: float, held_m3_s: float) -> str:
    if held_m3_s < pumped_m3_s:
        return "the restrictor before the UV unit holds it, 15 % under its flow"
    if scenario.cistern.gravity_feed:
        return "cistern at its intake, stages clean, taps wide open"
    low_m = scenario.pump.height_m - scenario.cistern.intake_m
    if starved(scenario, scenario.switch.cut_in_pa, low_m):
        return "cistern at its intake, where the pump lacks suction head and cavitates"
    return ""


def flow_at_intake_m3_s(scenario: Scenario) -> float:
    """Return what comes while the cistern is down to its intake: of the pump at cut-in, or by gravity."""
    if scenario.cistern.gravity_feed:
        return by_gravity_m3_s(scenario, scenario.gauge_range_pa()[0], scenario.house.lift_m)
    lift_m = scenario.pump.height_m - scenario.cistern.intake_m
    return pump_flow_at_m3_s(scenario, scenario.switch.cut_in_pa, lift_m)


def static_pa(scenario: Scenario) -> float:
    """Return the pressure at cut-out or of a full cistern at the gauge, or at taps below it [Pa]."""
    deep_pa = min(0.0, scenario.house.lift_m) * water.density_kg_m3(COLD_C) * GRAVITY_M_S2
    return float(scenario.gauge_range_pa()[1] - deep_pa)


def dead_head_pa(scenario: Scenario) -> float:
    """Return the gauge pressure of the pump against a shut valve, the cistern full."""
    depth_m = scenario.cistern.capacity_m3 / scenario.cistern.floor_m2
    head_m = scenario.pump.shutoff_head_m + depth_m - scenario.pump.height_m
    return float(water.density_kg_m3(COLD_C) * GRAVITY_M_S2 * head_m)


def _highest_tap(scenario: Scenario, flow_m3_s: float | None, units: Units) -> Judged:
    mixing = any(use.fixture in MIXING for use in scenario.house.uses)
    limit_pa = criteria()["highest tap"].limit if mixing else PLAIN_TAP_PA
    if flow_m3_s is None:
        return judge("highest tap", None, units, limit_pa, note=_no_flow(flow_m3_s))
    held = flow_m3_s > scenario.uv.most_flow_m3_s
    flow_m3_s = min(flow_m3_s, scenario.uv.most_flow_m3_s)
    # A cartridge due for change takes its rise at its rated flow; the drop over dirt goes as the flow.
    dirt_pa = sum(stage.terminal_rise_pa * flow_m3_s / stage.rated_flow_m3_s for stage in scenario.stages)
    left_pa = tap_pressure_pa(scenario, flow_m3_s) - dirt_pa
    dry = (
        "lift and losses are more than the pressure at cut-in: the design flow never comes"
        if left_pa < 0
        else ""
    )
    if held:
        dry = f"at {text(flow_m3_s, 'flow', units)}, all the restrictor lets through"
    return judge("highest tap", left_pa, units, limit_pa, note=dry)


def _dead_head(scenario: Scenario, units: Units) -> Judged:
    stated = {f"housing of {stage.name}": stage.most_pressure_pa for stage in scenario.stages}
    stated |= {"UV unit": scenario.uv.most_pressure_pa, "pressure tank": scenario.tank.most_pressure_pa}
    known = [limit for limit in stated.values() if limit is not None]
    missing = [name for name, limit in stated.items() if limit is None]
    found = judge("dead head", dead_head_pa(scenario), units, min(known) if known else None)
    if not missing or found.state == FAIL:
        return found
    note = f"most_pressure is not stated: {', '.join(missing)}"
    return replace(found, state=UNKNOWN, margin="", note=note)


def _suction(scenario: Scenario, flow_m3_s: float | None, units: Units) -> Judged:
    needed_m = scenario.pump.npsh_required_m
    limit_m = max(SUCTION_RATIO * needed_m, needed_m + SUCTION_SPARE_M)
    if flow_m3_s is None:
        return judge("suction", None, units, limit_m, note=_no_flow(flow_m3_s))
    warm_c = scenario.cistern.water_mean_c + scenario.cistern.water_swing_c
    left_m = pump.npsh_available_m(
        tank.atmosphere_at_pa(scenario.house.altitude_m),
        water.vapour_pressure_pa(warm_c),
        water.density_kg_m3(warm_c),
        scenario.pump.height_m - scenario.cistern.intake_m,
        scenario.pump.suction_s2_m5 * flow_m3_s**2,
    )
    return judge("suction", float(left_m), units, limit_m)


def _shaft_w(scenario: Scenario) -> float:
    """The motor's rating, or what the best point takes."""
    machine = scenario.pump
    if machine.motor_w is not None:
        return float(machine.motor_w)
    head_m = pump.head_m(machine.best_flow_m3_s, machine.shutoff_head_m, machine.curve_s2_m5)
    lifted_w = water.density_kg_m3(COLD_C) * GRAVITY_M_S2 * machine.best_flow_m3_s * max(0.0, head_m)
    return float(lifted_w / machine.best_efficiency * MOTOR_SHARE)


def _no_flow(flow_m3_s: float | None) -> str:
    return (
        ""
        if flow_m3_s is not None
        else "no design flow: say what fixture each [[house.use]] is, or [design] flow"
    )
