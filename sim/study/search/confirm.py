"""A last look at who was selected: named only when its bounds in fresh runs keep to every limit."""

from collections.abc import Sequence

from sim.study.search.limits import Limits
from sim.study.search.pool import Arm, Pool

CONFIDENCE = 0.95  # two-sided, as the bounds of a choice are told
MOST_FACTOR = 3  # times the runs asked for, where its bound is not within the limit yet but its mean is
MOST_TRIED = 5  # of those selected, cheapest first


def confirmed(
    pool: Pool, selected: Sequence[Arm], limits: Limits, first: int, replications: int
) -> tuple[Arm | None, int]:
    """Return the first arm whose bounds are all within the limits, and in how many fresh runs that was seen.

    Parameters
    ----------
    pool : Pool
        Runs the arms.
    selected : sequence of Arm
        Those selected, cheapest first.
    limits : Limits
        What is accepted.
    first : int
        First replication; none of these was looked at before.
    replications : int
        Runs of a first look.
    """
    for arm in selected[:MOST_TRIED]:
        for factor in range(1, MOST_FACTOR + 1):
            runs = factor * replications
            pool.need([arm], first, first + runs)
            if within_by_bound(pool, arm, limits, first, runs):
                return arm, runs
            if not _mean_within(pool, arm, limits, first, runs):
                break
    return None, replications


def within_by_bound(pool: Pool, arm: Arm, limits: Limits, first: int, runs: int) -> bool:
    """Return whether the upper bounds of an arm keep to all limits.

    Parameters
    ----------
    pool : Pool
        Rows of the arm in these replications.
    arm : Arm
        Who is looked at.
    limits : Limits
        What is accepted.
    first, runs : int
        First replication, and how many.
    """
    years = float(pool.sample([arm], first, first + runs, "years").min())
    each = (1.0 - CONFIDENCE) / 2.0
    return all(
        one.bounds_beyond(pool.sample([arm], first, first + runs, one.column)[0], years, each)[1] <= 0.0
        for one in limits.bounds()
    )


def _mean_within(pool: Pool, arm: Arm, limits: Limits, first: int, runs: int) -> bool:
    return all(
        one.beyond(pool.sample([arm], first, first + runs, one.column)) <= 0.0 for one in limits.bounds()
    )
