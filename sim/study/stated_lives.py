"""How long parts are stated to last, and which ways of looking after a house may leave them in for longer.

The twin counts what an old lamp or cartridge does to light, drop and money. What its maker vouches for no
longer, and what grows in an old cartridge, it does not.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from sim.constants import HOUR_S, YEAR_S
from sim.scenario.care import Policy, Rule
from sim.scenario.scenario import Scenario
from sim.study.compare.ways import span
from sim.study.wording import listed, named

NOT_SIMULATED = (
    "Germs in an old cartridge, and how long carbon takes out taste, are not simulated: the makers' word "
    "comes first."
)


@dataclass(frozen=True)
class Life:
    """How long a part is stated to last."""

    part: str  # what people call it
    span: str  # as people say it
    life_s: float

    @property
    def said(self) -> str:
        """The part and its life, such as "the UV lamp (9,000 h)"."""
        return f"{self.part} ({self.span})"


def lives(scenario: Scenario) -> list[Life]:
    """Return the stated lives of all that is renewed in time: cartridges, then the lamp."""
    found = [_of_stage(stage.name, stage.age_limit_s) for stage in scenario.stages]
    return [*found, _of_lamp(scenario)]


def renewed(rule: Rule, scenario: Scenario) -> Life | None:
    """Return the stated life of what a rule renews; None when it renews nothing that has one."""
    task = scenario.task(rule.task)
    effects = () if task is None else task.effects
    if "new lamp" in effects:
        return _of_lamp(scenario)
    if "new cartridge" in effects:
        return next((_of_stage(s.name, s.age_limit_s) for s in scenario.stages if s.name == rule.stage), None)
    return None


def outlasted(policy: Policy, scenario: Scenario) -> list[Life]:
    """Return the stated lives that no rule by the calendar keeps to."""
    return [life for life in lives(scenario) if _every_s(life, policy, scenario) > life.life_s]


def lives_note(policies: Iterable[Policy], scenario: Scenario) -> str:
    """Return which ways may leave which parts in for too long; empty where none does.

    A way without rules is left out: that nothing is done is its name for it.
    """
    who: dict[tuple[str, ...], list[str]] = {}
    for life in lives(scenario):
        names = [named(p.name) for p in policies if p.rules and life in outlasted(p, scenario)]
        if names:
            who.setdefault(tuple(names), []).append(life.said)
    if not who:
        return ""
    said = [f"{listed(parts)} under {listed(names)}" for names, parts in who.items()]
    return f"Parts may stay in for longer than they are stated to last: {'; '.join(said)}. {NOT_SIMULATED}"


def setting_note(policy: Policy, scenario: Scenario) -> str:
    """Return what a setting may leave in for too long, to be told before it; empty for nothing."""
    parts = _told(outlasted(policy, scenario))
    return f"The setting below may leave in {parts} for longer than stated. {NOT_SIMULATED}" if parts else ""


def plan_note(policy: Policy, scenario: Scenario) -> str:
    """Return what a year's calendar may leave in for too long, to be told before it; empty for nothing."""
    parts = _told(outlasted(policy, scenario))
    said = f"{named(policy.name)} may leave in {parts} for longer than stated: the makers' word comes first."
    return said if parts else ""


def skip_note(policy: Policy, scenario: Scenario, years: int) -> str:
    """Return what a way whose work is skipped may leave in for too long; empty where the skips are short."""
    parts = _told(life for life in lives(scenario) if _skipped(life, policy, scenario, years))
    return f"Meanwhile {parts} may stay in for longer than stated. {NOT_SIMULATED}" if parts else ""


def _skipped(life: Life, policy: Policy, scenario: Scenario, years: int) -> bool:
    spans_s = [
        (years * YEAR_S if skip.until_s is None else skip.until_s) - skip.from_s
        for skip in policy.skips
        if any(skip.holds(rule.task, rule.stage, skip.from_s) for rule in _renewing(life, policy, scenario))
    ]
    every_s = _every_s(life, policy, scenario)
    return any(every_s + span_s > life.life_s for span_s in spans_s)


def _renewing(life: Life, policy: Policy, scenario: Scenario) -> list[Rule]:
    return [rule for rule in policy.rules if renewed(rule, scenario) == life]


def _every_s(life: Life, policy: Policy, scenario: Scenario) -> float:
    """Return how often the calendar renews a part; for ever where it does not."""
    rules = _renewing(life, policy, scenario)
    return min((rule.every_s for rule in rules if rule.when == "calendar"), default=math.inf)


def _told(found: Iterable[Life]) -> str:
    return listed([life.said for life in found])


def _of_stage(name: str, limit_s: float) -> Life:
    return Life(f"the {name} cartridge", span(limit_s), limit_s)


def _of_lamp(scenario: Scenario) -> Life:
    life_s = scenario.uv.rated_life_s
    return Life("the UV lamp", f"{life_s / HOUR_S:,.0f} h", life_s)
