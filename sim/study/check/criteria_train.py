"""Pipe, cartridges, UV unit and access held against their criteria."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from math import isfinite

from sim.plant import pipe, uv
from sim.plant.train import flow_m3_s as resisted_m3_s
from sim.plant.uv_credit import credited_dose_j_m2
from sim.scenario.read.series import RainRecord
from sim.scenario.scenario import Scenario
from sim.scenario.train import Stage
from sim.study.check.criteria_pump import flow_at_intake_m3_s, static_pa
from sim.study.check.criterion import FAIL, Judged, judge, tell
from sim.study.check.site_check import by_gravity_m3_s
from sim.study.check.site_water import absorbance_per_m
from sim.study.wording import listed
from sim.twin.clean_stage import clean, stage_drop_pa
from sim.units import Units, text

FINEST_LAST_M = 5e-6
RESTRICTOR_OVER = 1.15  # of a restrictor's nominal flow that may pass [M]
LEAST_UVT = 0.75
OLD_SHARE = 0.56  # of a rating for a new lamp: lamp 0.7, sleeve 0.8 [A]
_WATER = {  # what a test of the water says, and its limit: NTU, then kg/m3
    "turbidity_ntu": ("turbidity", 1.0),
    "iron_kg_m3": ("iron", 0.1e-3),
    "manganese_kg_m3": ("manganese", 0.05e-3),
    "hardness_kg_m3": ("hardness", 120e-3),
}
_TO_SERVE = ("inlet valve", "outlet valve", "tank drain", "sampling valve after UV")


def train(
    scenario: Scenario, flow_m3_s: float | None, rain: RainRecord | None, units: Units
) -> Iterator[Judged]:
    """Hold pipe, stages, UV unit and access against their criteria."""
    bore_m = scenario.house.pipe_bore_m
    yield judge("velocity", None if flow_m3_s is None else pipe.velocity_m_s(flow_m3_s, bore_m), units)
    for stage in scenario.stages:
        yield judge("cartridge flow", flow_m3_s, units, stage.rated_flow_m3_s, stage.name)
    loss_pa = None if flow_m3_s is None else sum(stage_drop_pa(stage, flow_m3_s) for stage in scenario.stages)
    yield judge("clean loss", loss_pa, units)
    yield judge("cartridge life", None, units, note="compare and size say it")
    faults = order_faults(scenario.stages)
    yield tell("order", not faults, _row(scenario.stages), listed(faults))
    yield from _light(scenario, flow_m3_s, rain, units)
    yield _pre_treatment(scenario, rain)
    yield _power_loss(scenario)
    yield judge(
        "days below target", None, units, scenario.goals.limit_days_below_target, note="compare says it"
    )
    yield _access(scenario)


def order_faults(stages: Sequence[Stage]) -> list[str]:
    """Return what is wrong with the order of the stages, in words."""
    found = [
        f"{after.name} ({_um(after)}) stands behind the finer {before.name} ({_um(before)})"
        for before, after in pairwise(stages)
        if after.rating_m > before.rating_m * (1.0 + 1e-9)
    ]
    carbon = [stage.carbon_bed_m3 > 0 for stage in stages]
    if True in carbon and False in carbon[carbon.index(True) :]:
        found.append("a carbon stage stands before a sediment stage, and clogs in its place")
    if not stages or min(stage.rating_m for stage in stages) > FINEST_LAST_M * (1.0 + 1e-9):
        found.append("nothing of 5 um or finer stands before the UV unit")
    return found


def greatest_uv_flow_m3_s(scenario: Scenario, flow_m3_s: float | None) -> float:
    """Return the greatest flow the UV unit is to be judged at."""
    unit = scenario.uv
    if isfinite(unit.most_flow_m3_s):
        return float(RESTRICTOR_OVER * unit.most_flow_m3_s)
    if scenario.cistern.gravity_feed:
        return by_gravity_m3_s(scenario, scenario.gauge_range_pa()[1], 0.0)
    asked = max(flow_at_intake_m3_s(scenario), flow_m3_s or 0.0)
    if unit.restrictor_m3_s is None:
        return asked
    return min(asked, _through_orifice_m3_s(scenario))


def _through_orifice_m3_s(scenario: Scenario) -> float:
    """Return the flow that takes all the static pressure, stages clean and taps wide open."""
    unit = scenario.uv
    stages = [clean(stage) for stage in scenario.stages]
    linear = unit.whole_linear_pa_s_m3 + sum(one for one, _ in stages)
    quadratic = unit.whole_quadratic_pa_s2_m6 + unit.restrictor_pa_s2_m6 + sum(one for _, one in stages)
    return float(resisted_m3_s(static_pa(scenario), linear, quadratic))


def _held_by(scenario: Scenario) -> str:
    if scenario.uv.restrictor_m3_s is None:
        return "no restrictor holds the flow ([uv] restrictor)"
    if isfinite(scenario.uv.most_flow_m3_s):
        return "held by its restrictor"
    return "an orifice holds no flow: it slows it, the more the higher the pressure"


def _light(
    scenario: Scenario, flow_m3_s: float | None, rain: RainRecord | None, units: Units
) -> Iterator[Judged]:
    unit, most_m3_s = scenario.uv, greatest_uv_flow_m3_s(scenario, flow_m3_s)
    rated_m3_s, held = unit.whole_rated_flow_m3_s, _held_by(scenario)
    held += "; two units in parallel, half in each" if unit.lanes > 1 else ""
    yield judge("UV flow", most_m3_s, units, rated_m3_s, note=held)
    dark_per_m = absorbance_per_m(scenario, rain)
    through = uv.transmittance_per_cm(dark_per_m)
    how = "measured" if scenario.design.transmittance else "on paper, from roof and cistern: have it tested"
    yield judge("UV water", through, units, unit.rated_transmittance, note=how)
    known = {"class A": True, "type-tested": True, "class B": False}
    tested = known.get(unit.tested_as or "")
    yield tell(
        "UV class", tested, unit.tested_as or "", "" if unit.tested_as else "[uv] tested_as is not stated"
    )
    dose = uv.dose_j_m2(
        most_m3_s,
        rated_m3_s,
        uv.new_dose_j_m2(unit.dose_at_rating_j_m2, unit.light_at_rating),
        dark_per_m,
        uv.absorbance_per_m(unit.rated_transmittance),
        unit.gap_m,
        OLD_SHARE if unit.rated_at == "new" else unit.light_at_rating,
        unit.least_flow_m3_s,
    )
    credit_j_m2 = credited_dose_j_m2(
        most_m3_s, through, rated_m3_s, unit.rated_transmittance, unit.dose_at_rating_j_m2
    )
    at = f"at {text(most_m3_s, 'flow', units)} and {100 * through:.0f} % per cm"
    at += "; of one unit: the pair was not tested as one" if unit.in_row > 1 else ""
    at += "" if credit_j_m2 > 0 else "; outside what was tested, so none of it is credited"
    found = judge("UV dose", float(dose), units, unit.target_j_m2, note=at)
    yield found if credit_j_m2 > 0 else replace(found, state=FAIL, margin="")


def _pre_treatment(scenario: Scenario, rain: RainRecord | None) -> Judged:
    stated = {key: getattr(scenario.design, key) for key in _WATER}
    over = [_WATER[key][0] for key, value in stated.items() if value is not None and value > _WATER[key][1]]
    missing = [_WATER[key][0] for key, value in stated.items() if value is None]
    if uv.transmittance_per_cm(absorbance_per_m(scenario, rain)) < LEAST_UVT:
        over.append("transmittance")
    elif scenario.design.transmittance is None:
        missing.append("transmittance")
    if over:
        return tell("pre-treatment", False, f"beyond its limit: {listed(over)}")
    if missing:
        return tell("pre-treatment", None, "", f"not tested, or not under [design]: {listed(missing)}")
    return tell("pre-treatment", True, "all within")


def _power_loss(scenario: Scenario) -> Judged:
    bypass = any(fitting.name == "bypass valve" for fitting in scenario.fittings)
    faults = (
        [] if scenario.uv.shutoff_valve else ["no valve shuts when the lamp is dark ([uv] shutoff_valve)"]
    )
    faults += ["a bypass leads round the UV unit"] if bypass else []
    return tell("power loss", not faults, listed(faults) or "a valve shuts, no bypass")


def _access(scenario: Scenario) -> Judged:
    have = {fitting.name for fitting in scenario.fittings}
    needless = {"tank drain"} if scenario.cistern.gravity_feed else set()
    lacking = [name for name in _TO_SERVE if name not in have | needless]
    if scenario.design.gauges is False:
        lacking.append("gauges on both sides")
    if lacking:
        return tell("access", False, f"lacking: {listed(lacking)}")
    note = "" if scenario.design.gauges else "[design] gauges is not stated"
    return tell("access", scenario.design.gauges, "all there" if scenario.design.gauges else "", note)


def _row(stages: Sequence[Stage]) -> str:
    return ", ".join(f"{stage.name} {_um(stage)}" for stage in stages) or "no stages"


def _um(stage: Stage) -> str:
    return f"{1e6 * stage.rating_m:g} um"
