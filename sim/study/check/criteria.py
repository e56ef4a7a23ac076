"""All criteria of a site, and what is said of them in a sentence."""

from collections.abc import Sequence
from math import isfinite

from sim.scenario.read.series import RainRecord
from sim.scenario.scenario import Scenario
from sim.study.check.criteria_pump import pumping
from sim.study.check.criteria_supply import supply
from sim.study.check.criteria_train import train
from sim.study.check.criterion import FAIL, UNKNOWN, Judged, criteria
from sim.study.check.design_flow import design_flow_m3_s
from sim.study.wording import capital, counted, listed
from sim.units import Units

RUN_AT = (
    "Runs let the restrictor before the UV unit hold just its stated flow; one of its kind may pass "
    "15 % more or less, which the criteria allow for."
)


def judged(scenario: Scenario, units: Units = "us", rain: RainRecord | None = None) -> tuple[Judged, ...]:
    """Return how a site stands to each criterion, in their order."""
    flow_m3_s = design_flow_m3_s(scenario)
    found = [
        *pumping(scenario, flow_m3_s, units),
        *train(scenario, flow_m3_s, rain, units),
        *supply(scenario, rain, units),
    ]
    order = list(criteria())
    return tuple(sorted(found, key=lambda one: order.index(one.key)))


def failed(found: Sequence[Judged]) -> tuple[Judged, ...]:
    """Return the criteria that fail."""
    return tuple(one for one in found if one.state == FAIL)


def verdict(found: Sequence[Judged]) -> str:
    """Return how many criteria fail and how many are not known."""
    failing, unknown = failed(found), [one for one in found if one.state == UNKNOWN]
    passed = len(found) - len(failing) - len(unknown)
    return (
        f"Of {counted(len(found), 'line')} {passed} {'passes' if passed == 1 else 'pass'}, {len(failing)} "
        f"{'fails' if len(failing) == 1 else 'fail'}, {len(unknown)} {'is' if len(unknown) == 1 else 'are'} "
        "not known; not known is no pass."
    )


def failing_lines(found: Sequence[Judged]) -> list[str]:
    """Return each criterion that fails, with its value and its limit; last, those that are not known."""
    said = [
        f"{capital(one.label)} fails: {'; '.join(filter(None, (one.said, one.wanted, one.note)))}."
        for one in failed(found)
    ]
    unknown = [one.label for one in found if one.state == UNKNOWN]
    return [*said, *([f"Not known: {'; '.join(unknown)}."] if unknown else [])]


def note(scenario: Scenario, rain: RainRecord | None = None) -> list[str]:
    """Return the sentence that belongs to an answer about a design which fails on paper."""
    names = list(dict.fromkeys(one.key for one in failed(judged(scenario, "us", rain))))
    said = [RUN_AT] if isfinite(scenario.uv.most_flow_m3_s) else []
    if not names:
        return said
    return [*said, f"On paper this design fails on {listed(names)}: the design check says by how much."]
