"""Dials of a policy: its intervals and thresholds, each with levels around what it is now."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sim.constants import DAY_S, YEAR_S
from sim.errors import InputError
from sim.scenario.care import READINGS, Policy, Rule
from sim.scenario.effects import UNMEASURED, WIPES, TaskEffect
from sim.scenario.nearest import nearest
from sim.scenario.scenario import Scenario
from sim.study.stated_lives import renewed
from sim.study.wording import counted, percent
from sim.units import Units, text

LADDER = (0.35, 0.5, 0.7, 1.0, 1.4, 2.0, 2.8)  # times what it is now; about half as much again at each step
UV_STEPS = (-0.10, -0.05, 0.0, 0.05, 0.10, 0.15)
MOST_UV = 0.95
Point = tuple[int, ...]
NOW = "today's setting"


@dataclass(frozen=True)
class Dial:
    """One number of a policy, or several that go together."""

    name: str  # what people call it
    field: str  # field of the rule, or of the policy
    rules: tuple[int, ...]  # numbers of the rules it sets; none for a field of the policy
    levels: tuple[float, ...]  # values in SI, rising
    own: int  # level it stands at

    def said(self, level: int, units: Units) -> str:
        """Return a level as people read it: number and unit."""
        value = self.levels[level]
        if self.field.endswith("_s"):
            return counted(round(value / DAY_S), "day")
        if self.field.endswith("_pa"):
            return text(value, "pressure", units)
        return percent(value)


def dials(scenario: Scenario, policy: Policy, years: int) -> list[Dial]:
    """Return what can be tuned in a policy.

    In the order of the rules. Samples, and tasks that leave nothing behind, are left out: nothing in the twin
    follows from them, so their best interval would be never. Wipes of sleeve and window go together, and so
    do all tasks of a visit. Refused when there is nothing to tune.

    Parameters
    ----------
    years : int
        Length of a run [year]; longer intervals are left out, as nothing would fall due. So are those beyond
        what a part is stated to last.
    """
    groups: dict[tuple[str, str, float], list[int]] = {}
    for at, rule in enumerate(policy.rules):
        task = scenario.task(rule.task)
        effects = set() if task is None else set(task.effects)
        for field, value in _numbers(rule, effects):
            groups.setdefault((_group(rule, effects), field, value), []).append(at)

    def longest_s(rules: Sequence[int]) -> float:
        lives = [renewed(policy.rules[at], scenario) for at in rules]
        return min([years * YEAR_S * (1 - 1e-9), *(life.life_s for life in lives if life)])

    found = [
        _dial(scenario, name, field, tuple(rules), value, longest_s(rules))
        for (name, field, value), rules in groups.items()
    ]
    for field, name in (("reading_every_s", READINGS), ("technician_every_s", "visit")):
        value = getattr(policy, field)
        joined = next((d for d in found if d.name == name and d.levels[d.own] == value), None)
        if value is not None and joined is None:
            found.append(_dial(scenario, name, field, (), value, longest_s(())))
    if not found:
        raise InputError(f"policy {policy.name!r} has no interval and no threshold to tune")
    return found


def chosen_dials(found: Sequence[Dial], only: Sequence[str]) -> list[Dial]:
    """Return the dials of some names.

    In the order of `found`. Refused when a name is unknown; the nearest is offered.

    Parameters
    ----------
    only : sequence of str
        Names; all dials when empty.
    """
    known = [dial.name for dial in found]
    for name in only:
        if name not in known:
            raise InputError(f"no interval or threshold is called {name!r}; {nearest(name, known)}")
    return [dial for dial in found if not only or dial.name in only]


def own_point(found: Sequence[Dial]) -> Point:
    """Return the point a policy stands at: level of each dial."""
    return tuple(dial.own for dial in found)


def policy_at(policy: Policy, found: Sequence[Dial], point: Point) -> Policy:
    """Return a policy with its dials at a point: under a name of its own for each point."""
    rules = list(policy.rules)
    fields: dict[str, Any] = {}
    for dial, level in zip(found, point, strict=True):
        value = dial.levels[level]
        for at in dial.rules:
            rules[at] = rules[at].model_copy(update={dial.field: value})
        if dial.name == "visit" or not dial.rules:
            fields["technician_every_s" if dial.name == "visit" else dial.field] = value
    name = policy.name if point == own_point(found) else f"{policy.name} {'.'.join(map(str, point))}"
    return policy.model_copy(update={"rules": tuple(rules), "name": name, **fields})


def point_of(policy: Policy, found: Sequence[Dial]) -> Point:
    """Return the point at which a policy that was made by `policy_at` stands."""
    point = []
    for dial in found:
        visit = dial.name == "visit" or not dial.rules
        holder: Any = policy if visit else policy.rules[dial.rules[0]]
        value = getattr(holder, "technician_every_s" if dial.name == "visit" else dial.field)
        point.append(min(range(len(dial.levels)), key=lambda at: abs(dial.levels[at] - value)))
    return tuple(point)


def changed_words(found: Sequence[Dial], point: Point, units: Units) -> str:
    """Return a point as people read it: what differs from today's setting."""
    changed = [
        f"{dial.name} at {dial.said(level, units)} (now {dial.said(dial.own, units)})"
        for dial, level in zip(found, point, strict=True)
        if level != dial.own
    ]
    return ", ".join(changed) if changed else NOW


def line_through(found: Sequence[Dial], point: Point) -> list[Point]:
    """Return a point and all that differ from it in one dial: the point first."""
    points = [point]
    for at, dial in enumerate(found):
        points += [
            (*point[:at], level, *point[at + 1 :]) for level in range(len(dial.levels)) if level != point[at]
        ]
    return points


def tightened(found: Sequence[Dial], point: Point, by: int) -> Point:
    """Return a point with everything done more often, by so many levels.

    Intervals shorter, drops lower, readings of the UV acted on sooner.
    """
    step = [by if dial.field == "uv_below" else -by for dial in found]
    return tuple(
        min(max(level + s, 0), len(dial.levels) - 1)
        for dial, level, s in zip(found, point, step, strict=True)
    )


def _numbers(rule: Rule, effects: set[TaskEffect]) -> list[tuple[str, float]]:
    if effects <= UNMEASURED or rule.when == "failure":
        return []
    fields = ["every_s"] if rule.when == "calendar" else ["drop_above_pa", "uv_below", "precharge_off_pa"]
    return [(field, value) for field in fields if (value := getattr(rule, field)) is not None]


def _group(rule: Rule, effects: set[TaskEffect]) -> str:
    if rule.by == "technician" and rule.when == "calendar":
        return "visit"
    if effects <= WIPES:
        return "wipe sleeve and window"
    return rule.label


def _dial(
    scenario: Scenario, name: str, field: str, rules: tuple[int, ...], value: float, longest_s: float
) -> Dial:
    if field == "uv_below":
        levels = [value + step for step in UV_STEPS if scenario.uv.alarm <= value + step <= MOST_UV]
    elif field.endswith("_pa"):
        levels = [value * factor for factor in LADDER if value * factor < 0.8 * scenario.gauge_range_pa()[0]]
    else:
        days = [
            value if factor == 1.0 else max(1.0, round(value * factor / DAY_S)) * DAY_S for factor in LADDER
        ]
        levels = [one for one in days if one <= longest_s or one == value]
    levels = sorted({*levels, value})
    return Dial(name, field, rules, tuple(levels), levels.index(value))
