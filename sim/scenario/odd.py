"""What is odd in a scenario that can still be run, said in a line each."""

from sim.constants import ATMOSPHERE_PA, DAY_S, GRAVITY_M_S2, YEAR_S
from sim.scenario.gravity import WATER_KG_M3
from sim.scenario.rule_checks import never_changed_words
from sim.scenario.scenario import HIGHEST_STATIC_PA, ROUNDING, Scenario
from sim.scenario.step_checks import unused_slips
from sim.scenario.train import Uv
from sim.units import text

AS_WRITTEN = 0.005  # relative; one flow is written 12 gpm and 45.4 L/min
LEFT_OUT = "cistern.gravity_feed: tasks and rules for pump, pressure tank and precharge are left out"


def warnings(scenario: Scenario) -> list[str]:
    """Return what is odd in a scenario that can still be run, one line each.

    Returns
    -------
    list of str
        Warnings with the key they are about; empty when nothing is odd.
    """
    return [
        *_supply_warnings(scenario),
        *_pressure_warnings(scenario),
        *_uv_warnings(scenario),
        *_care_warnings(scenario),
    ]


def _supply_warnings(scenario: Scenario) -> list[str]:
    store = scenario.cistern
    trigger_m3, intake_m3 = store.top_up_below * store.capacity_m3, store.intake_m * store.floor_m2
    if not 0 < trigger_m3 <= intake_m3:
        return []
    takes = "the house takes" if store.gravity_feed else "the pump takes"
    return [
        f"cistern.top_up_below: a tanker is ordered below {text(trigger_m3, 'volume', 'us')}, but {takes} "
        f"nothing below {text(intake_m3, 'volume', 'us')} (intake times floor): no tanker ever comes"
    ]


def _pressure_warnings(scenario: Scenario) -> list[str]:
    if scenario.cistern.gravity_feed:
        return _level_warnings(scenario)
    switch, house = scenario.switch, scenario.house
    precharge = scenario.tank.precharge_pa
    found = []
    if precharge > switch.cut_in_pa:
        found.append(
            f"pressure_tank.precharge: {text(precharge, 'pressure', 'us')} is above cut_in "
            f"({text(switch.cut_in_pa, 'pressure', 'us')}); the tank is empty before the pump starts"
        )
    if precharge < 0.5 * switch.cut_in_pa:
        found.append(
            f"pressure_tank.precharge: {text(precharge, 'pressure', 'us')} is less than half of cut_in; "
            "the tank gives little water between pump starts"
        )
    if switch.cut_out_pa > HIGHEST_STATIC_PA:
        found.append("pressure_switch.cut_out: above 80 psi, where plumbing codes ask for a reducing valve")
    if scenario.pump.holds and precharge > 0.0:
        found += _held_warnings(scenario)
    left_pa = switch.cut_in_pa - house.lift_m * WATER_KG_M3 * GRAVITY_M_S2
    if left_pa < house.low_tap_pa:
        found.append(
            f"house.lift: at cut_in {text(left_pa, 'pressure', 'us')} is left at the highest fixture before "
            f"any flow, below low_tap ({text(house.low_tap_pa, 'pressure', 'us')})"
        )
    return found


def _level_warnings(scenario: Scenario) -> list[str]:
    """Return what is odd about a cistern that feeds by its level."""
    house, (low_pa, high_pa) = scenario.house, scenario.gauge_range_pa()
    found = [LEFT_OUT]
    left_pa = low_pa - house.lift_m * WATER_KG_M3 * GRAVITY_M_S2
    if left_pa < house.low_tap_pa:
        found.append(
            f"house.lift: with the cistern at its intake {text(max(left_pa, 0.0), 'pressure', 'us')} is left "
            "at the highest fixture before any flow, below low_tap "
            f"({text(house.low_tap_pa, 'pressure', 'us')})"
        )
    if high_pa > HIGHEST_STATIC_PA:
        found.append("pump.height: a full cistern gives above 80 psi, where codes ask for a reducing valve")
    if not scenario.uv.shutoff_valve:
        found.append("uv.shutoff_valve: without one water that is fed by gravity runs undosed in a power cut")
    return found


def _held_warnings(scenario: Scenario) -> list[str]:
    switch, vessel, machine = scenario.switch, scenario.tank, scenario.pump
    air = (vessel.precharge_pa + ATMOSPHERE_PA) * vessel.volume_m3
    given_m3 = air / (max(switch.cut_in_pa, vessel.precharge_pa) + ATMOSPHERE_PA)
    given_m3 -= air / (switch.cut_out_pa + ATMOSPHERE_PA)
    if given_m3 >= machine.least_flow_m3_s * machine.stop_delay_s:
        return []
    return [
        f"pressure_tank.volume: gives {text(given_m3, 'volume', 'us')} from cut_out to cut_in, less than "
        "pump.least_flow takes in pump.stop_delay; the pump is hardly off before it starts again"
    ]


def _uv_warnings(scenario: Scenario) -> list[str]:
    uv = scenario.uv
    found = []
    at_alarm_j_m2 = uv.dose_at_rating_j_m2 / uv.light_at_rating * uv.alarm
    if at_alarm_j_m2 < uv.target_j_m2 * (1.0 - ROUNDING):
        found.append(
            f"uv.alarm: when it sounds for the lamp or the sleeve the dose at rated flow is "
            f"{text(at_alarm_j_m2, 'dose', 'us')}, below the target of {text(uv.target_j_m2, 'dose', 'us')}"
        )
    if uv.dose_at_rating_j_m2 < uv.target_j_m2:
        found.append("uv.dose_at_rating: below uv.target even as rated")
    found += [*_units_warnings(uv), *_restrictor_warnings(scenario)]
    fed = scenario.cistern.gravity_feed
    pushed_m3_s = min(scenario.pump.best_flow_m3_s, uv.most_flow_m3_s)
    if not fed and uv.whole_rated_flow_m3_s < pushed_m3_s * (1.0 - AS_WRITTEN):
        found.append(
            "uv.rated_flow: below pump.best_flow; the pump can push more water than the unit is rated for"
        )
    return found


def _units_warnings(uv: Uv) -> list[str]:
    if uv.units == 1:
        return ["uv.arranged: is without effect, as uv.units is 1"] if uv.arranged == "parallel" else []
    if uv.lanes > 1 and not uv.shutoff_valve:
        return [
            "uv.arranged: in parallel without shutoff_valve half of the water has no dose while one lamp is "
            "dark"
        ]
    return []


def _restrictor_warnings(scenario: Scenario) -> list[str]:
    uv = scenario.uv
    if uv.restrictor_m3_s is None:
        unused = uv.restrictor_kind == "orifice"
        return ["uv.restrictor_kind: is without effect, as no uv.restrictor states a flow"] if unused else []
    left_pa = scenario.gauge_range_pa()[0] - scenario.house.lift_m * WATER_KG_M3 * GRAVITY_M_S2
    at = "with the cistern at its intake" if scenario.cistern.gravity_feed else "at cut_in"
    if left_pa < uv.restrictor_drop_pa:
        return [
            f"uv.restrictor_drop: {at} {text(left_pa, 'pressure', 'us')} is left for the highest tap "
            f"and the whole train, less than the {text(uv.restrictor_drop_pa, 'pressure', 'us')} the "
            "restrictor takes at its flow; taps get less"
        ]
    return []


def _care_warnings(scenario: Scenario) -> list[str]:
    used = {task.part for task in scenario.tasks} | {stage.name for stage in scenario.stages}
    found = [
        f"spare[{spare.part}]: is neither the part of a task nor the name of a stage; never used"
        for spare in scenario.spares
        if spare.part not in used
    ]
    run_s = scenario.years * YEAR_S
    found += [
        f"policy[{policy.name}]: {rule.task!r} every {rule.every_s / DAY_S:.0f} d is never due "
        f"in {scenario.years} yr"
        for policy in scenario.policies
        for rule in policy.rules
        if rule.when == "calendar" and rule.every_s > run_s
    ]
    found += [
        f'policy[{policy.name}]: no rule with when = "failure" is ever due, as heeds_alarm is false'
        for policy in scenario.policies
        if not policy.heeds_alarm and any(rule.when == "failure" for rule in policy.rules)
    ]
    unused = unused_slips(scenario.tasks, scenario.guides, scenario.back, scenario.blocks, scenario.slips)
    found += [f"slip[{name}]: no step leads to it; it never happens" for name in unused]
    return found + never_changed_words(scenario.policies, scenario.tasks, scenario.stage_names)
