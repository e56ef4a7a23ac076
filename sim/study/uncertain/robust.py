"""Does the answer hold over what is uncertain? Shares of draws, two sources of spread, what moves it most."""

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import special

from sim.errors import InputError
from sim.scenario.care import Goals
from sim.scenario.values.variants import Span
from sim.study.compare.measures import counted_days
from sim.study.statistics.intervals import Interval
from sim.study.uncertain.uncertain import Sampled

MEASURES = ("cost", "days_below_target", "water_off_h", "alarm_h")
NONE = ""  # no policy keeps within the limits

_CHANCE = 0.05  # that any of the correlations exceeds its bound

_Table = NDArray[np.float64]


@dataclass(frozen=True)
class Spread:
    """A measure over draws, with its two sources of spread apart."""

    mean: float  # mean of all runs, in the unit of the measure
    # standard deviation that is due to the inputs: between draws, beyond what runs of one draw explain
    between: float
    within: float  # standard deviation between the runs of one draw


@dataclass(frozen=True)
class Standing:
    """How one policy fares over the draws."""

    policy: str  # name; empty for "none keeps within the limits"
    # draws in which it is the cheapest of those within the limits, by the means of the draw's runs
    best_in: int
    share: Interval  # their share, Wilson [fraction]
    measures: dict[str, Spread]  # by name of the measure; empty for "none"


@dataclass(frozen=True)
class Influence:
    """How one input moves the difference of the two leading policies."""

    span: Span  # the input
    cost_correlation: float  # rank correlation of it with the difference in yearly cost, over draws
    # the same with the difference in days below the dose target; nan when these do not differ
    days_correlation: float


@dataclass(frozen=True)
class Robust:
    """What the draws say."""

    draws: int  # draws finished and asked for
    wanted: int
    replications: int  # runs of each policy at a draw
    redrawn: int  # draws whose values did not go together and were drawn anew
    inputs: int  # inputs that were drawn
    best: tuple[str, ...]  # best policy of each draw; empty where none keeps within the limits
    # most often best first; last "none keeps within the limits", when that happened
    standings: tuple[Standing, ...]
    leader: str  # the two leading policies
    rival: str
    difference: Spread  # yearly cost of the leader less that of the rival [money/year]
    influences: tuple[Influence, ...]  # largest rank correlation first
    # what the largest of so many correlations exceeds by chance alone in one study of twenty
    chance_correlation: float


def robust(found: Sampled, goals: Goals, confidence: float = 0.95) -> Robust:
    """Return what the draws say of the policies; refused when fewer than two draws were finished.

    Parameters
    ----------
    confidence : float
        Of the shares [fraction, between 0 and 1].

    Returns
    -------
    Robust
        Which policy is best in a draw is judged by the means of its runs, which are few: where policies lie
        close the shares carry that too, so they are nearer to each other than with endless runs.
    """
    count = len(found.sites)
    if count < 2:
        raise InputError(f"{count} draws were finished; wanted 2 or more")
    names = list(dict.fromkeys(found.rows["policy"]))
    tables = {name: _tables(found.rows, name) for name in names}
    best = _best(tables, goals)
    standings = [
        Standing(name, best.count(name), wilson(best.count(name), count, confidence), _spreads(tables[name]))
        for name in names
    ]
    standings.sort(key=lambda one: (-one.best_in, one.measures["cost"].mean))
    if NONE in best:
        standings.append(Standing(NONE, best.count(NONE), wilson(best.count(NONE), count, confidence), {}))
    leader = standings[0].policy
    rival = standings[1].policy if len(names) > 1 else leader
    influences = _influences(found, tables[leader], tables[rival]) if leader != rival else ()
    return Robust(
        draws=count,
        wanted=found.wanted,
        replications=tables[leader]["cost"].shape[1],
        redrawn=sum(site.redrawn > 0 for site in found.sites),
        inputs=len(found.spans),
        best=tuple(best),
        standings=tuple(standings),
        leader=leader,
        rival=rival,
        difference=spread(tables[leader]["cost"] - tables[rival]["cost"]),
        influences=influences,
        chance_correlation=chance_correlation(count, len(found.spans)),
    )


def wilson(count: int, trials: int, confidence: float) -> Interval:
    """Return a share with Wilson's interval.

    Parameters
    ----------
    count : int
        Trials in which it was seen [0 to trials].
    confidence : float
        Two-sided confidence [fraction, between 0 and 1].

    Returns
    -------
    Interval
        Share and bounds [fraction].

    References
    ----------
    Wilson 1927, J. Am. Stat. Assoc. 22:209.

    Examples
    --------
    >>> found = wilson(8, 10, 0.95)
    >>> round(found.low, 4), round(found.high, 4)
    (0.4902, 0.9433)
    """
    from scipy import stats  # noqa: PLC0415  takes half a second to load

    bounds = stats.binomtest(count, trials).proportion_ci(confidence, method="wilson")
    return Interval(count / trials, float(bounds.low), float(bounds.high), confidence, "Wilson", trials)


def spread(table: _Table) -> Spread:
    """Return mean and the two standard deviations of a nested sample.

    Notes
    -----
    Analysis of variance with one random factor: within^2 = MS_w, between^2 = max(0, (MS_b - MS_w)/r).

    References
    ----------
    Searle, Casella & McCulloch 1992, Variance Components, ch. 3 (from memory).

    Examples
    --------
    >>> found = spread(np.array([[1.0, 3.0], [5.0, 7.0], [9.0, 11.0]]))
    >>> found.mean, round(found.within**2, 9), round(found.between**2, 9)
    (6.0, 2.0, 15.0)
    """
    runs = table.shape[1]
    within = float(table.var(axis=1, ddof=1).mean())
    between = float(table.mean(axis=1).var(ddof=1)) - within / runs
    return Spread(float(table.mean()), math.sqrt(max(0.0, between)), math.sqrt(within))


def chance_correlation(draws: int, inputs: int) -> float:
    """Return what the largest of many rank correlations exceeds by chance alone once in twenty studies.

    Notes
    -----
    t = r sqrt((n - 2)/(1 - r^2)) against Student's t, Bonferroni over the inputs.

    Examples
    --------
    >>> round(chance_correlation(20, 1), 3)  # Pearson's table, n = 20, 5 %
    0.444
    """
    if draws < 4:
        return 1.0
    t = float(-special.stdtrit(draws - 2, _CHANCE / 2 / inputs))
    return t / math.sqrt(draws - 2 + t * t)


def _tables(rows: pd.DataFrame, policy: str) -> dict[str, _Table]:
    one = rows[rows["policy"] == policy]
    one = one.assign(days_below_target=counted_days(one))
    return {
        name: one.pivot(index="draw", columns="replication", values=name).to_numpy(dtype=np.float64)
        for name in MEASURES
    }


def _best(tables: dict[str, dict[str, _Table]], goals: Goals) -> list[str]:
    """Return, for each draw, the cheapest policy of those within the limits."""
    names = list(tables)
    means = {name: np.array([tables[policy][name].mean(axis=1) for policy in names]) for name in MEASURES}
    within = goals.kept(means["days_below_target"], means["water_off_h"], means["alarm_h"])
    cost = np.where(within, means["cost"], np.inf)
    return [
        names[int(cost[:, draw].argmin())] if within[:, draw].any() else NONE for draw in range(cost.shape[1])
    ]


def _spreads(tables: dict[str, _Table]) -> dict[str, Spread]:
    return {name: spread(table) for name, table in tables.items()}


def _influences(found: Sampled, leader: dict[str, _Table], rival: dict[str, _Table]) -> tuple[Influence, ...]:
    cost = (leader["cost"] - rival["cost"]).mean(axis=1)
    days = (leader["days_below_target"] - rival["days_below_target"]).mean(axis=1)
    result = []
    for span in found.spans:
        values = np.array([site.values[span.key] for site in found.sites])
        result.append(Influence(span, _rank_correlation(values, cost), _rank_correlation(values, days)))
    return tuple(sorted(result, key=_size, reverse=True))


def _size(one: Influence) -> float:
    sizes = [abs(value) for value in (one.cost_correlation, one.days_correlation) if not math.isnan(value)]
    return max(sizes, default=0.0)


def _rank_correlation(x: _Table, y: _Table) -> float:
    if np.ptp(x) == 0 or np.ptp(y) == 0:
        return math.nan
    from scipy import stats  # noqa: PLC0415  takes half a second to load

    return float(stats.spearmanr(x, y).statistic)
