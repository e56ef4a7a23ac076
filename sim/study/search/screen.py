"""Screening: few runs of every arm, and those out that are over a limit or surely dearer than one within."""

from dataclasses import dataclass, field

import numpy as np
from scipy import special

from sim.study.search.limits import Limits, standings
from sim.study.search.pool import SPENT, Arm, Pool

LOOKS = (7,)  # runs of each arm still in, at which it is looked; at fewer, t says next to nothing


@dataclass
class Screened:
    """What a screening left."""

    kept: list[Arm]  # those still in
    why: dict[Arm, str] = field(default_factory=dict)  # by arm that is out: "over" or "dearer"
    runs: dict[Arm, int] = field(default_factory=dict)


def screen(
    pool: Pool,
    arms: list[Arm],
    limits: Limits,
    worth: float,
    limit_error: float,
    cost_error: float,
    looks: tuple[int, ...] = LOOKS,
) -> Screened:
    """Screen arms.

    Parameters
    ----------
    worth : float
        Least difference of cost that matters [money/year], above 0.
    limit_error : float
        Chance that any arm is put on the wrong side of a limit [fraction].
    cost_error : float
        Chance that the cheapest within the limits is screened out as dearer, when it is cheaper than the
        others by `worth` [fraction].

    Notes
    -----
    Arm i is out when for some arm l shown within the limits mean(X_i - X_l) > max(0, t s / sqrt(n) - worth),
    pairs having met the same weather; t is one-sided at `cost_error` over the looks and over the arms but
    one. Both errors are shared out over the looks and arms, so any dependence is allowed (Bonferroni).

    References
    ----------
    Nelson, Swann, Goldsman & Song 2001, Oper. Res. 49:950, screening with an indifference zone; here with
    paired differences.
    """
    found = Screened(list(arms), runs=dict.fromkeys(arms, 0))
    for runs in looks:
        pool.need(found.kept, 0, runs)
        found.runs |= dict.fromkeys(found.kept, runs)
        standing = standings(pool, found.kept, 0, runs, limits, limit_error / len(looks))
        out = {arm: "over" for arm, how in standing.items() if how == "over"}
        each = cost_error / (len(looks) * max(1, len(arms) - 1))
        within = [arm for arm in found.kept if standing[arm] == "within"]
        out |= {
            arm: "dearer"
            for arm in dearer(pool, found.kept, within, 0, runs, worth, each)
            if standing[arm] != "over"
        }
        found.why |= out
        found.kept = [arm for arm in found.kept if arm not in out]
        if len(found.kept) <= 1:
            break
    return found


def dearer(
    pool: Pool, arms: list[Arm], within: list[Arm], first: int, runs: int, worth: float, error: float
) -> list[Arm]:
    """Return the arms that are surely dearer than one within the limits.

    Parameters
    ----------
    worth : float
        Least difference of cost that matters [money/year].
    error : float
        Chance of each pair to mislead [fraction].
    """
    if not within:
        return []
    judges = pool.sample(within, first, first + runs, SPENT)
    factor = float(special.stdtrit(runs - 1, 1.0 - error)) / runs**0.5
    out = []
    for arm, cost in zip(arms, pool.sample(arms, first, first + runs, SPENT), strict=True):
        pairs = cost - judges
        margin = np.maximum(0.0, factor * pairs.std(axis=1, ddof=1) - worth)
        if (pairs.mean(axis=1) > margin).any():
            out.append(arm)
    return out
