"""What belongs with the answer of a comparison whatever its runs say."""

from collections.abc import Collection

from sim.scenario.read.series import RainRecord
from sim.scenario.rule_checks import never_changed_words
from sim.scenario.scenario import Scenario
from sim.study.check.criteria import note


def notes(scenario: Scenario, policies: Collection[str], rain: RainRecord | None = None) -> list[str]:
    """Return what is odd about the policies compared, and on what the design fails, a sentence each."""
    compared = [policy for policy in scenario.policies if policy.name in policies]
    return [*never_changed_words(compared, scenario.tasks, scenario.stage_names), *note(scenario, rain)]
