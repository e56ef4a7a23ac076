"""The drop from which a cartridge is due, as it is read: one limit for sheets, stories and forecasts."""

from sim.scenario.scenario import Scenario
from sim.twin.clean_stage import stage_drop_pa


def reading_flow_m3_s(scenario: Scenario) -> float:
    """Return the flow to which a tap is opened to read drops, or all that a restrictor lets through."""
    return float(min(scenario.gauge.reading_flow_m3_s, scenario.uv.most_flow_m3_s))


def clean_drop_pa(scenario: Scenario, number: int) -> float:
    """Return the drop over a clean stage at the flow at which it is read."""
    return stage_drop_pa(scenario.stages[number], reading_flow_m3_s(scenario))


def due_drop_pa(scenario: Scenario, number: int) -> float:
    """Return the drop from which a cartridge is due: by the first rule of the site, else by its data sheet.

    Notes
    -----
    A data sheet states its rise at the rated flow; the drop over dirt goes as the flow.
    """
    one = scenario.stages[number]
    rules = (rule for policy in scenario.policies for rule in policy.rules if rule.stage == one.name)
    limit_pa = next((rule.drop_above_pa for rule in rules if rule.drop_above_pa is not None), None)
    rise_pa = one.terminal_rise_pa * reading_flow_m3_s(scenario) / one.rated_flow_m3_s
    return float(clean_drop_pa(scenario, number) + rise_pa if limit_pa is None else limit_pa)
