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
    said: str
    life_s: float


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
    kept = {
        life.part
        for rule in policy.rules
        if (life := renewed(rule, scenario)) and rule.when == "calendar" and rule.every_s <= life.life_s
    }
    return [life for life in lives(scenario) if life.part not in kept]


def lives_note(policies: Iterable[Policy], scenario: Scenario) -> str:
    """Return which ways may leave which parts in for too long; empty where none does.

    A way without rules is left out: that nothing is done is its name for it.
    """
    who: dict[tuple[str, ...], list[str]] = {}
    for life in lives(scenario):
        names = [named(p.name) for p in policies if p.rules and life in outlasted(p, scenario)]
        if names:
            who.setdefault(tuple(names), []).append(f"{life.part} ({life.said})")
    if not who:
        return ""
    said = [f"{listed(parts)} under {listed(names)}" for names, parts in who.items()]
    return f"Parts may stay in for longer than they are stated to last: {'; '.join(said)}. {NOT_SIMULATED}"


def setting_note(policy: Policy, scenario: Scenario) -> str:
    """Return what a setting may leave in for too long, to be told before it; empty for nothing."""
    parts = _parts(policy, scenario)
    return f"The setting below may leave in {parts} for longer than stated. {NOT_SIMULATED}" if parts else ""


def plan_note(policy: Policy, scenario: Scenario) -> str:
    """Return what a year's calendar may leave in for too long, to be told before it; empty for nothing."""
    parts = _parts(policy, scenario)
    said = f"{named(policy.name)} may leave in {parts} for longer than stated: the makers' word comes first."
    return said if parts else ""


def skip_note(policy: Policy, scenario: Scenario, years: int) -> str:
    """Return what a way whose work is skipped may leave in for too long; empty where the skips are short."""
    left = [life for life in lives(scenario) if _skipped(life, policy, scenario, years)]
    parts = listed([f"{life.part} ({life.said})" for life in left])
    return f"Meanwhile {parts} may stay in for longer than stated. {NOT_SIMULATED}" if left else ""


def _skipped(life: Life, policy: Policy, scenario: Scenario, years: int) -> bool:
    rules = [rule for rule in policy.rules if renewed(rule, scenario) == life]
    every_s = min((rule.every_s for rule in rules if rule.when == "calendar"), default=math.inf)
    spans_s = [
        (years * YEAR_S if skip.until_s is None else skip.until_s) - skip.from_s
        for skip in policy.skips
        if any(skip.holds(rule.task, rule.stage, skip.from_s) for rule in rules)
    ]
    return any(every_s + span_s > life.life_s for span_s in spans_s)


def _parts(policy: Policy, scenario: Scenario) -> str:
    return listed([f"{life.part} ({life.said})" for life in outlasted(policy, scenario)])


def _of_stage(name: str, limit_s: float) -> Life:
    return Life(f"the {name} cartridge", span(limit_s), limit_s)


def _of_lamp(scenario: Scenario) -> Life:
    life_s = scenario.uv.rated_life_s
    return Life("the UV lamp", f"{life_s / HOUR_S:,.0f} h", life_s)
