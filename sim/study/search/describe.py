"""What a search says about its arms: a row each, the front of cost against days, what each step up buys."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from scipy import special

from sim.scenario.sizing import Alternative
from sim.study.compare.comparison_tables import flat
from sim.study.search.alternatives import Choice, called
from sim.study.search.pool import DAYS_COUNTED, SPENT, Arm, Floats, Pool
from sim.study.search.search import SELECT_FROM, Found, difference
from sim.study.statistics.intervals import Interval, bonferroni, mean_interval, upper_bound_when_none_seen

MEANS = {  # column of a row, name in the table
    "water_off_h": "water_off_h",
    "tap_least_pa": "tap_least_pa",
    "tap_p5_pa": "tap_p5_pa",
    "cartridge_days": "cartridge_days",
    "pump_starts": "pump_starts",
    "short_runs": "short_runs",
    "over_uv_share": "over_uv_share",
    "cistern_empty_days": "cistern_empty_days",
    "unmet_draws": "unmet_draws",
}
STEP_COLUMNS = (SPENT, DAYS_COUNTED, "tap_p5_pa", "cartridge_days", "cistern_empty_days", "short_runs")
CONFIDENCE = 0.95


@dataclass(frozen=True)
class Step:
    """From one value of an alternative to the next, all else as in the choice."""

    key: str  # what is changed
    smaller: str  # what the two are called
    larger: str
    gains: dict[str, Interval]  # by column: the second less the first, each at `confidence`
    confidence: float  # of each interval, so that those of one column hold together for all steps [fraction]


def runs_of(pool: Pool, found: Found, arm: Arm) -> tuple[int, int]:
    """Return the replications an arm is described by: those of the last look, or of the first."""
    runs = pool.counts(arm, *found.compare)
    if runs:
        return found.compare
    return 0, pool.counts(arm, 0, SELECT_FROM)


def table(
    pool: Pool, found: Found, choices: Sequence[Choice], alternatives: Sequence[Alternative],
    equipment: Sequence[float],
) -> pd.DataFrame:  # fmt: skip
    """Return one row an arm, the chosen first, then by mean cost.

    Parameters
    ----------
    equipment : sequence of float
        Cost of the equipment of each design [money/year].
    """
    lines = []
    for arm in found.fates:
        first, stop = runs_of(pool, found, arm)
        line: dict[str, object] = {
            "design": pool.designs[arm.design].label,
            "policy": pool.designs[arm.design].policies[arm.policy].name,
        }
        line |= {one.key: str(v) for one, v in zip(alternatives, choices[arm.design].values, strict=True)}
        line |= {"fate": found.fates[arm], "runs": stop - first, "fresh": first == found.compare[0]}
        for name, column in (("cost", SPENT), ("days_below_target", DAYS_COUNTED)):
            interval = mean_interval(pool.sample([arm], first, stop, column)[0], CONFIDENCE)
            line |= flat(
                name, _with_unseen(interval, pool, arm, first, stop) if column != SPENT else interval
            )
        line["cost_equipment"] = equipment[arm.design]
        line |= {name: pool.sample([arm], first, stop, column).mean() for column, name in MEANS.items()}
        lines.append({**line, "design_number": arm.design, "policy_number": arm.policy})
    frame = pd.DataFrame(lines)
    order = frame.assign(last=frame["fate"] != "chosen").sort_values(["last", "cost"], kind="stable").index
    return frame.loc[order].reset_index(drop=True)


def _with_unseen(seen: Interval, pool: Pool, arm: Arm, first: int, stop: int) -> Interval:
    """Return the bounds of a count of days; where no run had any, with the exact upper bound of none seen."""
    if seen.estimate > 0.0:
        return seen
    years = float(pool.sample([arm], first, stop, "years").min())
    high = upper_bound_when_none_seen(stop - first, (1.0 + CONFIDENCE) / 2.0) / years
    return replace(seen, high=high)


def front(pool: Pool, arms: Sequence[Arm], first: int, stop: int) -> list[Arm]:
    """Return the arms that no other beats in both mean cost and mean days below the dose target."""
    arms = list(arms)
    costs = pool.sample(arms, first, stop, SPENT).mean(axis=1)
    days = pool.sample(arms, first, stop, DAYS_COUNTED).mean(axis=1)
    order = sorted(range(len(arms)), key=lambda i: (float(costs[i]), float(days[i])))
    found, least = [], float("inf")
    for i in order:
        if days[i] < least:
            found.append(arms[i])
            least = float(days[i])
    return found


def fresh_front(pool: Pool, found: Found) -> tuple[list[Arm], list[Arm]]:
    """Return the front in runs that no choice was made by, and who off it was not shown to be beaten."""
    arms = list(found.fates)
    if not found.full:
        shared = min(pool.counts(arm, 0, SELECT_FROM) for arm in arms)
        named = [arm for arm in (found.chosen, found.rival) if arm is not None]
        arms = list(dict.fromkeys([*unbeaten(pool, arms, 0, shared), *named]))
        pool.need(arms, *found.compare)
    line = front(pool, arms, *found.compare)
    return line, [arm for arm in unbeaten(pool, arms, *found.compare) if arm not in line]


def unbeaten(pool: Pool, arms: Sequence[Arm], first: int, stop: int) -> list[Arm]:
    """Return the arms that no other was shown to beat in both cost and days below the dose target.

    One beats another where its cost is surely less and its days surely no more, or the same in every run;
    the error is shared out over all pairs.
    """
    arms, runs = list(arms), stop - first
    each = (1.0 - CONFIDENCE) / max(1, len(arms) * (len(arms) - 1))
    factor = float(special.stdtrit(runs - 1, 1.0 - each)) / runs**0.5 if runs > 1 else float("inf")
    costs = pool.sample(arms, first, stop, SPENT)
    days = pool.sample(arms, first, stop, DAYS_COUNTED)
    found = []
    for at, arm in enumerate(arms):
        others = np.arange(len(arms)) != at
        dearer = _least_gap(costs[at] - costs[others], factor) > 0.0
        worse = _least_gap(days[at] - days[others], factor) >= 0.0
        if not (dearer & worse).any():
            found.append(arm)
    return found


def _least_gap(gaps: Floats, factor: float) -> Floats:
    return np.asarray(gaps.mean(axis=1) - factor * gaps.std(axis=1, ddof=1))


def steps(
    pool: Pool, found: Found, choices: Sequence[Choice], alternatives: Sequence[Alternative]
) -> list[Step]:
    """Return what each step from one value to the next buys, all else as in the choice."""
    pairs = list(_pairs(found, choices, alternatives))
    each = bonferroni(CONFIDENCE, len(pairs))
    return [
        Step(
            one.key,
            called(one.key, one.values[at]),
            called(one.key, one.values[at + 1]),
            {name: difference(pool, above, below, name, each) for name in STEP_COLUMNS},
            each,
        )
        for one, at, below, above in pairs
    ]


def _pairs(
    found: Found, choices: Sequence[Choice], alternatives: Sequence[Alternative]
) -> Iterator[tuple[Alternative, int, Arm, Arm]]:
    if found.chosen is None:
        return
    number = {choice.values: at for at, choice in enumerate(choices)}
    base = list(choices[found.chosen.design].values)
    for place, one in enumerate(alternatives):
        line = []
        for value in one.values:
            values = (*base[:place], value, *base[place + 1 :])
            line.append(Arm(number[values], found.chosen.policy))
        pairs = [(one, at, line[at], line[at + 1]) for at in range(len(line) - 1)]
        yield from (pair for pair in pairs if pair[2] in found.fates and pair[3] in found.fates)
