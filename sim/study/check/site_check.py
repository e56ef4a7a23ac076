"""Design figures of a site by the equations of the twin, without running it; what is out of good practice."""

from collections.abc import Iterable, Iterator

from sim.constants import GRAVITY_M_S2
from sim.plant import carbon, pump, train, uv, water
from sim.scenario.odd import warnings
from sim.scenario.read.series import RainRecord
from sim.scenario.scenario import ROUNDING, Scenario
from sim.study.check.design_flow import design_flow_m3_s, simulated_peak_m3_s
from sim.study.check.finding import Finding
from sim.study.check.pump_use import (
    COLD_C,
    half_full_lift_m,
    least_pressure_pa,
    pump_flow_m3_s,
    pump_life,
    starved,
    use_of,
)
from sim.study.check.site_rain import recorded
from sim.study.check.site_supply import supply, yearly_demand_m3, yearly_rain_m, yearly_roof_m3
from sim.study.check.site_water import absorbance_per_m
from sim.study.compare.sentences import rating_holds, two_units
from sim.study.wording import percent
from sim.twin.clean_stage import clean, stage_drop_pa
from sim.twin.water.unpack import pipe_quadratic_pa_s2_m6
from sim.units import GPM_M3_S, MINUTE_S, Units, shown, text

__all__ = [
    "Finding",
    "figures",
    "tap_pressure_pa",
    "yearly_demand_m3",
    "yearly_rain_m",
    "yearly_roof_m3",
]

LARGE_DRAWDOWN = 10.0  # gal or L; from there on whole ones are enough
LEAST_CONTACT_S = 10.0  # assumption; carbon beds meant for more than taste are given minutes
SHOWN_FLOWS_M3_S = (5.0 * GPM_M3_S, 10.0 * GPM_M3_S)


def figures(scenario: Scenario, units: Units = "us", rain: RainRecord | None = None) -> list[Finding]:
    """Return the design figures of a site."""
    flow_m3_s = design_flow_m3_s(scenario) or simulated_peak_m3_s(scenario)
    flows = (*SHOWN_FLOWS_M3_S, flow_m3_s)
    return [
        *supply(scenario, units, rain),
        *recorded(scenario, rain, units),
        *_pumping(scenario, units),
        *(finding for flow in flows for finding in _at_flow(scenario, units, flow)),
        *_uv(scenario, units, flow_m3_s, rain),
        _credit(scenario),
        *(Finding("to look at", said, warning=True) for said in warnings(scenario)),
    ]


def tap_pressure_pa(scenario: Scenario, flow_m3_s: float) -> float:
    """Return the pressure at the highest fixture at a flow, the tank at its lowest and every stage clean.

    Returns
    -------
    float
        Gauge pressure [Pa]; below zero means the flow is not reached.
    """
    lift_pa = water.density_kg_m3(COLD_C) * GRAVITY_M_S2 * scenario.house.lift_m
    stages_pa = sum(stage_drop_pa(stage, flow_m3_s) for stage in scenario.stages)
    unit = scenario.uv
    unit_pa_s2_m6 = unit.whole_quadratic_pa_s2_m6 + unit.restrictor_pa_s2_m6
    uv_pa = train.drop_pa(flow_m3_s, unit.whole_linear_pa_s_m3, unit_pa_s2_m6)
    pipe_pa = pipe_quadratic_pa_s2_m6(scenario, COLD_C) * flow_m3_s**2
    return float(least_pressure_pa(scenario, flow_m3_s) - lift_pa - stages_pa - uv_pa - pipe_pa)


def by_gravity_m3_s(scenario: Scenario, gauge_pa: float, lift_m: float) -> float:
    """Return the flow of standing water through clean stages, unit and pipe to taps wide open."""
    unit, stages = scenario.uv, [clean(stage) for stage in scenario.stages]
    linear = unit.whole_linear_pa_s_m3 + sum(one for one, _ in stages)
    quadratic = unit.whole_quadratic_pa_s2_m6 + unit.restrictor_pa_s2_m6 + sum(one for _, one in stages)
    quadratic += pipe_quadratic_pa_s2_m6(scenario, COLD_C)
    lift_pa = water.density_kg_m3(COLD_C) * GRAVITY_M_S2 * lift_m
    return min(float(train.flow_m3_s(gauge_pa - lift_pa, linear, quadratic)), unit.most_flow_m3_s)


def _pumping(scenario: Scenario, units: Units) -> Iterator[Finding]:
    """Yield drawdown, duty points and life of the pump, cistern half full; or what the level gives."""
    if scenario.cistern.gravity_feed:
        low, high = (text(at_pa, "pressure", units) for at_pa in scenario.gauge_range_pa())
        yield Finding("pressure at the gauge", f"{low} to {high}", "by gravity: cistern at its intake, full")
        return
    switch, use = scenario.switch, use_of(scenario)
    yield Finding("drawdown of the pressure tank", _drawn(use.drawdown_m3, units), "cut-out to cut-in")
    duty = {at: pump_flow_m3_s(scenario, at) for at in (switch.cut_in_pa, switch.cut_out_pa)}
    for name, (at_pa, flow) in zip(("cut-in", "cut-out"), duty.items(), strict=True):
        value = f"{text(flow, 'flow', units)} at {text(_head_m(scenario, at_pa, flow), 'length', units)} head"
        note = f"{text(at_pa, 'pressure', units)}, cistern half full"
        short = starved(scenario, at_pa, half_full_lift_m(scenario))
        note += "; it lacks suction head and cavitates" if short else ""
        yield Finding(f"pump at {name}", value, note, flow <= 0 or short)
    if scenario.pump.standby:
        after = f"{scenario.pump.standby_after_s / MINUTE_S:g} min after the running one has failed"
        yield Finding("standby pump", "a second like it", f"takes over {after}; they do not take turns")
    yield pump_life(scenario)


def _drawn(volume_m3: float, units: Units) -> str:
    """Say a drawdown, with more digits than a cistern's where it is small."""
    value, unit = shown(volume_m3, "volume", units)
    return text(volume_m3, "volume", units) if value >= LARGE_DRAWDOWN else f"{value:.2g} {unit}"


def _head_m(scenario: Scenario, at_pa: float, flow_m3_s: float) -> float:
    """Return the head the pump adds at a gauge pressure; below its curve where it cavitates."""
    machine = scenario.pump
    asked_m = at_pa / (water.density_kg_m3(COLD_C) * GRAVITY_M_S2) + half_full_lift_m(scenario)
    asked_m += machine.suction_s2_m5 * flow_m3_s**2
    return float(min(asked_m, pump.head_m(flow_m3_s, machine.shutoff_head_m, machine.curve_s2_m5)))


def _at_flow(scenario: Scenario, units: Units, flow_m3_s: float) -> Iterator[Finding]:
    at = f"at {text(flow_m3_s, 'flow', units)}"
    for stage in scenario.stages:
        yield Finding(
            f"drop over {stage.name} {at}", text(stage_drop_pa(stage, flow_m3_s), "pressure", units), "clean"
        )
        if stage.carbon_bed_m3 > 0:
            contact_s = carbon.contact_time_s(stage.carbon_bed_m3 * stage.housings, flow_m3_s)
            brief = contact_s < LEAST_CONTACT_S
            note = f"under {LEAST_CONTACT_S:.0f} s, our assumption: polishes taste only" if brief else ""
            yield Finding(f"contact in {stage.name} {at}", f"{contact_s:.1f} s", note, brief)
    left_pa, held = tap_pressure_pa(scenario, flow_m3_s), flow_m3_s > scenario.uv.most_flow_m3_s
    missed = left_pa <= 0 or held
    value = "flow is not reached" if missed else text(left_pa, "pressure", units)
    level = "pressure held" if least_pressure_pa(scenario, flow_m3_s) > scenario.gauge_range_pa()[0] else None
    at_least = "cistern at its intake" if scenario.cistern.gravity_feed else "tank at cut-in"
    how = "its restrictor holds less" if held else f"{level or at_least}, stages clean"
    yield Finding(f"highest tap {at}", value, how, missed)


def _uv(scenario: Scenario, units: Units, flow_m3_s: float, rain: RainRecord | None) -> Iterable[Finding]:
    unit = scenario.uv
    new_j_m2 = uv.new_dose_j_m2(unit.dose_at_rating_j_m2, unit.light_at_rating)
    found = [Finding("UV rating", text(unit.dose_at_rating_j_m2, "dose", units), rating_holds(unit))]
    found += [Finding("two UV units", unit.arranged, two_units(unit))] if unit.units > 1 else []
    dark_per_m = absorbance_per_m(scenario, rain)
    clear = f"clean, water of {percent(uv.transmittance_per_cm(dark_per_m))} per cm"
    clear += "; of one unit, the other adds as much" if unit.in_row > 1 else ""
    for name, flow in (("rated", unit.whole_rated_flow_m3_s), ("design", flow_m3_s)):
        for age, output in (("new lamp", 1.0), ("end of lamp life", unit.output_at_end)):
            dose = uv.dose_j_m2(
                flow,
                unit.whole_rated_flow_m3_s,
                new_j_m2,
                dark_per_m,
                uv.absorbance_per_m(unit.rated_transmittance),
                unit.gap_m,
                output,
                unit.least_flow_m3_s,
            )
            below = dose < unit.target_j_m2 * (1.0 - ROUNDING)
            note = clear + (f"; below the target of {text(unit.target_j_m2, 'dose', units)}" if below else "")
            found.append(Finding(f"UV dose, {age}, {name} flow", text(dose, "dose", units), note, below))
    found.append(_alarm(scenario, units, new_j_m2))
    return found


def _alarm(scenario: Scenario, units: Units, new_j_m2: float) -> Finding:
    unit = scenario.uv
    needed = uv.least_protecting_dose_j_m2(unit.target_j_m2, unit.alarm)
    protects = uv.alarm_protects(new_j_m2, unit.target_j_m2 * (1.0 - ROUNDING), unit.alarm)
    said = (
        f"new and clean dose at rated flow is {text(new_j_m2, 'dose', units)}; "
        f"{text(needed, 'dose', units)} is needed for an alarm at {percent(unit.alarm)}"
    )
    value = "comes in time" if protects else "comes too late"
    return Finding("UV alarm against the target", value, said, not protects)


def _credit(scenario: Scenario) -> Finding:
    """Say what the target is worth by the dose table of the surface-water rule."""
    target = scenario.uv.target_j_m2
    said = ", ".join(f"{organism} {uv.log_credit(target, organism):g}" for organism in uv.REQUIRED_DOSE_J_M2)
    return Finding(
        "log credit of the dose target",
        said,
        "validated dose by 40 CFR 141.720, second-hand; viruses need far more; not a test of this water",
    )
