"""The search: screen all arms, select among the finalists in fresh weather, look at the choice once more.

The chance of a wrong choice is shared out (Bonferroni) over the limits, the screening and the selection, so
it holds for the whole. Each stage has replications of its own: what made an arm look good by luck in one is
not there in the next.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from sim.errors import InputError
from sim.study.search.confirm import confirmed
from sim.study.search.limits import Limits, Standing, standings
from sim.study.search.pool import SPENT, Arm, Pool
from sim.study.search.screen import LOOKS, screen
from sim.study.search.selection import FIRST_RUNS, Selection, select
from sim.study.statistics.intervals import Interval, best_gap_intervals, paired_interval

ERROR = 0.05
LIMIT_SHARE, SCREEN_SHARE, SELECT_SHARE = 0.4, 0.2, 0.4  # of the error; our choice
SELECT_FROM, CONFIRM_FROM = 10_000, 20_000  # first replications of the later stages
MOST_JUDGES = 3  # finalists that others are mostly compared with
ROOM_SDS = 1.0  # between the mean of a judge and each limit [A]
MOST_FACTOR = 3  # a finalist may have this many times the runs asked for, so that the selection can settle
CHOSEN, TIE, DEARER, OVER, UNSHOWN = (
    "chosen",
    "may be as good",
    "dearer",
    "over a limit",
    "not shown to be within the limits",
)


@dataclass(frozen=True)
class Found:
    """What a search found."""

    chosen: Arm | None  # cheapest within the limits
    rival: Arm | None  # the one that stayed in longest beside it, or is next in cost
    settled: bool  # whether the selection ended by its own rule
    fates: dict[Arm, str]  # what became of each arm, in words
    worth: float  # least difference of cost that matters [money/year]
    limits: Limits  # what was accepted
    error: float  # chance of a wrong choice that was accepted [fraction]
    full: bool  # whether every arm had every replication
    searched: int  # runs of the search itself
    grid: int  # runs of the full grid: every arm with the replications asked for
    # first replication of those the choice is described by, and the one after the last
    compare: tuple[int, int]
    shortlist: tuple[Arm, ...] = field(default=())  # finalists, cheapest first


def search(
    pool: Pool,
    limits: Limits,
    worth: float,
    replications: int,
    full: bool = False,
    arms: Sequence[Arm] | None = None,
    error: float = ERROR,
) -> Found:
    """Search for the cheapest arm within the limits; refused when worth or replications cannot be used.

    Parameters
    ----------
    worth : float
        Least difference of cost that matters [money/year], above 0.
    error : float
        Chance of a wrong choice that is accepted [fraction].
    """
    if not worth > 0:
        raise InputError(f"worth is {worth:g}; wanted an amount of money above 0")
    if replications < 2:
        raise InputError(f"replications is {replications}; wanted 2 or more to tell designs apart")
    every = list(arms) if arms is not None else pool.arms
    if full or replications <= LOOKS[0] + FIRST_RUNS:  # no screening and selection takes fewer
        return _full(pool, every, limits, worth, replications, error)
    return _screened(pool, every, limits, worth, replications, error)


def _full(
    pool: Pool, arms: list[Arm], limits: Limits, worth: float, replications: int, error: float
) -> Found:
    before = pool.runs
    pool.need(arms, 0, replications)
    standing = standings(pool, arms, 0, replications, limits, LIMIT_SHARE * error)
    within = [arm for arm in arms if standing[arm] == "within"]
    costs = dict(zip(within, pool.sample(within, 0, replications, SPENT), strict=True))
    order = sorted(within, key=lambda arm: float(costs[arm].mean()))
    fates = {arm: OVER if how == "over" else UNSHOWN for arm, how in standing.items()}
    named = {str(at): costs[arm] for at, arm in enumerate(order)}
    gaps = best_gap_intervals(named, 1 - (1 - LIMIT_SHARE) * error, len(arms) - 1)
    for at, arm in enumerate(order):
        fates[arm] = CHOSEN if at == 0 else TIE if gaps[str(at)].low <= 0 else DEARER
    settled = bool(order) and all(gaps[str(at)].low > -worth for at in range(1, len(order)))
    return Found(
        chosen=order[0] if order else None,
        rival=order[1] if len(order) > 1 else None,
        settled=settled,
        fates=fates,
        worth=worth,
        limits=limits,
        error=error,
        full=True,
        searched=pool.runs - before,
        grid=len(arms) * replications,
        compare=(0, replications),
        shortlist=tuple(order),
    )


def _screened(
    pool: Pool, arms: list[Arm], limits: Limits, worth: float, replications: int, error: float
) -> Found:
    before = pool.runs
    limit_error = LIMIT_SHARE * error / 2  # screening and selection each look at the limits
    first = screen(pool, arms, limits, worth, limit_error, SCREEN_SHARE * error)
    final = select(
        pool,
        first.kept,
        limits,
        worth,
        limit_error,
        SELECT_SHARE * error,
        SELECT_FROM,
        max(FIRST_RUNS, MOST_FACTOR * replications),
        judges=_judges(pool, first.kept, limits),
    )
    fates = {arm: OVER if why == "over" else DEARER for arm, why in first.why.items()}
    fates |= {arm: _fate(final.standing[arm], arm in final.left) for arm in first.kept}
    if final.chosen is not None:
        for arm in first.kept:
            if fates[arm] == DEARER and _alike(pool, arm, final.chosen):
                fates[arm] = TIE  # put out because less than what matters is at stake
    searched = pool.runs - before
    selected = _selected(pool, final, first.kept)
    chosen, runs = confirmed(pool, selected, limits, CONFIRM_FROM, replications)
    fates |= dict.fromkeys(selected[: selected.index(chosen)] if chosen else selected, UNSHOWN)
    if chosen is not None:
        fates[chosen] = CHOSEN
    rival = next((arm for arm in final.left if arm != chosen), None)
    rival = rival or _next(pool, chosen, [a for a in first.kept if final.standing[a] != "over"])
    rival = rival or _next(pool, chosen, [a for a, why in first.why.items() if why == "dearer"])
    looked = [arm for arm in (chosen, rival) if arm is not None]
    pool.need(looked, CONFIRM_FROM, CONFIRM_FROM + runs)
    return Found(
        chosen=chosen,
        rival=rival,
        settled=final.settled and chosen == final.chosen,
        fates=fates,
        worth=worth,
        limits=limits,
        error=error,
        full=False,
        searched=searched,
        grid=len(arms) * replications,
        compare=(CONFIRM_FROM, CONFIRM_FROM + runs),
        shortlist=tuple(first.kept),
    )


def _selected(pool: Pool, final: Selection, kept: list[Arm]) -> list[Arm]:
    """Return those shown within the limits, who was selected first, then by cost at the first look."""
    within = [arm for arm in kept if final.standing[arm] == "within"]
    if not within:
        return []
    runs = min(pool.counts(arm, 0, SELECT_FROM) for arm in within)
    costs = dict(zip(within, pool.sample(within, 0, runs, SPENT).mean(axis=1), strict=True))
    return sorted(within, key=lambda arm: (arm != final.chosen, arm not in final.left, costs[arm]))


def _judges(pool: Pool, arms: list[Arm], limits: Limits) -> list[Arm]:
    """Return the cheapest arms with room to the limits, by runs that the selection never looks at."""
    if len(arms) < MOST_JUDGES:
        return []
    runs = min(pool.counts(arm, 0, SELECT_FROM) for arm in arms)
    room = np.ones(len(arms), dtype=bool)
    for one in limits.bounds():
        sample = pool.sample(arms, 0, runs, one.column)
        beyond = np.array([one.beyond(values) for values in sample])
        room &= beyond + ROOM_SDS * sample.std(axis=1, ddof=1) <= 0.0
    costs = np.where(room, pool.sample(arms, 0, runs, SPENT).mean(axis=1), np.inf)
    return [arms[i] for i in np.argsort(costs, kind="stable")[:MOST_JUDGES] if room[i]]


def _alike(pool: Pool, arm: Arm, chosen: Arm) -> bool:
    """Return whether an arm was not shown dearer than the choice in the weather of the selection."""
    gap = difference(pool, arm, chosen, SPENT, 1 - ERROR, (SELECT_FROM, CONFIRM_FROM))
    return gap.low <= 0


def _fate(standing: Standing, stayed: bool) -> str:
    if standing == "over":
        return OVER
    if not stayed:
        return DEARER
    return TIE if standing == "within" else UNSHOWN


def _next(pool: Pool, chosen: Arm | None, others: list[Arm]) -> Arm | None:
    """Return the arm of least cost in the runs all of them had at the first look."""
    others = [arm for arm in others if arm != chosen]
    if not others:
        return None
    runs = min(pool.counts(arm, 0, SELECT_FROM) for arm in others)
    costs = pool.sample(others, 0, runs, SPENT).mean(axis=1)
    return others[int(np.argmin(costs))]


def difference(
    pool: Pool, arm: Arm, other: Arm, column: str, confidence: float, within: tuple[int, int] | None = None
) -> Interval:
    """Return how an arm differs from another in a column, over runs both had in the same weather.

    Parameters
    ----------
    confidence : float
        Two-sided confidence [fraction].
    """
    first, second = pool.whole(arm, column), pool.whole(other, column)
    shared = sorted(set(first) & set(second))
    if within is not None:
        shared = [number for number in shared if within[0] <= number < within[1]]
    return paired_interval([first[n] for n in shared], [second[n] for n in shared], confidence)
