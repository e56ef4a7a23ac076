"""Sizes and intervals together: every design under its policies at every setting of some intervals."""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import replace

import pandas as pd

from sim.errors import InputError
from sim.scenario.care import Policy
from sim.study.search.alternatives import MOST_DESIGNS, Choice
from sim.study.search.search import OVER, UNSHOWN
from sim.study.tune.settings_grid import Dial, Point, chosen_dials, dials, own_point, policy_at
from sim.study.wording import number
from sim.units import Units

MOST_SAID = 6


def turned(made: Sequence[Choice], names: Sequence[str], years: int, units: Units) -> list[Choice]:
    """Return the designs with each policy at every setting of the named intervals and thresholds.

    Refused in one line when a name is unknown, a design has other intervals than the first, or there are too
    many.
    """
    found = []
    first = [_dials(made[0], policy, names, years) for policy in made[0].design.policies]
    for one in made:
        policies: list[Policy] = []
        for policy, wanted in zip(one.design.policies, first, strict=True):
            turning = _dials(one, policy, names, years)
            if turning != wanted:
                raise InputError(
                    f"with-intervals: {policy.name!r} has other intervals to turn at {one.design.label} than "
                    f"at {made[0].design.label}; wanted designs with the same stages, switch and alarm"
                )
            policies += _settings(policy, turning, units)
        if len(policies) * len(made) > MOST_DESIGNS:
            raise InputError(
                f"with-intervals: {len(made)} designs at {len(policies)} settings are asked for; wanted "
                f"{MOST_DESIGNS:,} together or fewer"
            )
        found.append(replace(one, design=replace(one.design, policies=tuple(policies))))
    return found


def suited(lines: pd.DataFrame, currency: str) -> str:
    """Return the setting that suits each design, by the runs each had: the cheapest not over a limit."""
    kept = lines[~lines["fate"].isin([OVER, UNSHOWN])]
    best = kept.loc[kept.groupby("design", sort=False)["cost"].idxmin()].sort_values("cost", kind="stable")
    said = [f"{one['design']}: {one['policy']} ({number(one['cost'])})" for _, one in best.iterrows()]
    if not said:
        return ""
    more = " ..." if len(said) > MOST_SAID else ""
    begin = f"What suits each design by the runs it had, cost in {currency} a year"
    return f"{begin}: {'; '.join(said[:MOST_SAID])}{more}."


def _dials(one: Choice, policy: Policy, names: Sequence[str], years: int) -> list[Dial]:
    try:
        return chosen_dials(dials(one.design.scenario, policy, years), names)
    except InputError as error:
        raise InputError(f"with-intervals: {one.design.label}: {error}") from None


def _settings(policy: Policy, turning: Sequence[Dial], units: Units) -> Iterator[Policy]:
    own = own_point(turning)
    for point in itertools.product(*(range(len(dial.levels)) for dial in turning)):
        made = policy_at(policy, turning, point)
        yield (
            made if point == own else made.model_copy(update={"name": _named(policy, turning, point, units)})
        )


def _named(policy: Policy, turning: Sequence[Dial], point: Point, units: Units) -> str:
    """Name a setting by what differs from the policy as it stands."""
    changed = [
        f"{dial.name} at {dial.said(level, units)}"
        for dial, level in zip(turning, point, strict=True)
        if level != dial.own
    ]
    return f"{policy.name}, {', '.join(changed)}"
