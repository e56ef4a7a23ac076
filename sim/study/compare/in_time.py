"""Which other way renews parts within what they are stated to last, where the one to choose may not."""

from collections.abc import Sequence

from sim.scenario.care import Policy
from sim.scenario.scenario import Scenario
from sim.study.compare.comparison import Comparison
from sim.study.compare.untold_words import gap_in_cost
from sim.study.stated_lives import outlasted
from sim.study.wording import money, named


def renewed_in_time(comparison: Comparison, ways: Sequence[Policy], scenario: Scenario, currency: str) -> str:
    """Return when to choose another way for the sake of its parts; empty where there is no such case.

    Only a way that was shown to be within the limits, and to cost more, is told of.
    """
    best = comparison.best
    late = {one.name for one in ways if outlasted(one, scenario)}
    if best is None or best not in late:
        return ""
    lead = comparison.choice.lead
    others = [
        item.policy
        for item in comparison.summaries
        if item.standing == "within" and item.policy not in late and lead[item.policy].low > 0.0
    ]
    if not others:
        return ""
    name = min(others, key=lambda one: lead[one].estimate)
    more = f"{gap_in_cost(comparison, name)} {money(currency).unit} more"
    return f"Choose {named(name)} if each part is to fall due within what it is stated to last, for {more}."
