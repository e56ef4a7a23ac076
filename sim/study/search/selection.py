"""Selection of the cheapest arm within the limits, one replication after the other, by Kim and Nelson."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from sim.study.search.limits import Limits, Standing, standings
from sim.study.search.pool import SPENT, Arm, Floats, Pool
from sim.study.search.screen import dearer

FIRST_RUNS = 10  # from which spreads are taken (n0)
JUDGE_RUNS = 20  # of a judge, before the others begin
EARLY_LOOKS = (5, 7)  # at which others are compared with judges
BLOCK = 5  # replications handed out at once; the rule looks at them one by one


@dataclass
class Selection:
    """What a selection found.

    Attributes
    ----------
    chosen : Arm or None
        Cheapest of those shown within the limits; None when none was.
    settled : bool
        Whether the procedure ended by its own rule, so that its guarantee holds, and not at the most runs.
    left : list of Arm
        Those still in at the end, cheapest first.
    standing : dict
        Of each arm to the limits.
    runs : int
        Replications of the arms that stayed to the end.
    """

    chosen: Arm | None
    settled: bool
    left: list[Arm]
    standing: dict[Arm, Standing]
    runs: int


@dataclass
class _State:
    arms: list[Arm]
    first: int
    worth: float
    first_runs: int
    judges: frozenset[int]
    h2_factor: float = 0.0
    alive: list[int] = field(default_factory=list)
    within: set[int] = field(default_factory=set)
    variance: Floats = field(default_factory=lambda: np.zeros((0, 0)))
    looked: int = 0


def eta(error: float, arms: int, first_runs: int) -> float:
    """Return the constant of the procedure of Kim and Nelson, with c = 1.

    Parameters
    ----------
    error : float
        Chance of a wrong selection that is accepted [fraction, at most 1 - 1/arms].
    arms : int
        Arms at the start, at least 2.
    first_runs : int
        Replications the spreads are taken from, at least 2.

    Returns
    -------
    float
        eta = ((2 error / (arms - 1))^(-2 / (first_runs - 1)) - 1) / 2.

    References
    ----------
    Kim & Nelson 2001, ACM Trans. Model. Comput. Simul. 11:251.

    Examples
    --------
    >>> round(eta(0.05, 2, 10), 4)
    0.3341
    """
    return 0.5 * (math.pow((2.0 * error / (arms - 1)), -2.0 / (first_runs - 1)) - 1.0)


def select(
    pool: Pool,
    arms: list[Arm],
    limits: Limits,
    worth: float,
    limit_error: float,
    cost_error: float,
    first: int,
    most: int,
    first_runs: int = FIRST_RUNS,
    judges: Sequence[Arm] = (),
) -> Selection:
    """Select the cheapest arm within the limits.

    Parameters
    ----------
    pool : Pool
        Runs the arms.
    arms : list of Arm
        Finalists.
    limits : Limits
        What is accepted.
    worth : float
        Least difference of cost that matters [money/year], above 0.
    limit_error : float
        Chance that any arm is put on the wrong side of a limit [fraction].
    cost_error : float
        Chance of a wrong selection among those within the limits [fraction].
    first : int
        First replication; none of these was looked at before (fresh weather).
    most : int
        Most replications of an arm, at least `first_runs`.
    first_runs : int
        Replications the spreads are taken from.
    judges : sequence of Arm
        A few of the arms, named before any of these replications was looked at, that others are held
        against for the most part; all alike when empty.

    Returns
    -------
    Selection
        With the guarantee when `settled`: a cheapest arm that is cheaper by `worth` is chosen with a
        probability of at least 1 - `cost_error`, the limits being met with 1 - `limit_error`.

    Notes
    -----
    After r replications arm i is out when for some l, shown within the limits, mean(X_i) - mean(X_l) >
    max(0, worth/(2r) (h2 S2_il / worth^2 - r)), h2 = 2 eta (n0 - 1), S2_il the variance of the paired
    differences in the first n0. Pairs may depend on one another: the proof takes differences only. An arm
    that is not shown within the limits puts no other out. Limits are looked at after n0, 2 n0, 4 n0 ...
    replications, the error shared out over the looks. At the same looks arms are put out by the rule of the
    screening too: the boundary of Kim and Nelson is drawn for differences of `worth` and slow for large ones.
    Each of the two rules has half the error. Where there are judges, half of the error of the limits and of
    the screening goes to them: shared out over few, it shows a judge within the limits and others dearer
    than it in far fewer runs. They run ahead, and the others are screened a first time before n0 too.

    References
    ----------
    Kim & Nelson 2001, ACM Trans. Model. Comput. Simul. 11:251, theorem 1 (normal values, dependence allowed).
    Feasibility before comparison: Andradottir & Kim 2010, Nav. Res. Logist. 57:403; here with bounds in place
    of their sequential check.
    """
    if not arms:
        return Selection(None, True, [], {}, 0)
    few = frozenset(arms.index(arm) for arm in judges)
    state = _State(arms, first, worth, first_runs, few, alive=list(range(len(arms))))
    if len(arms) > 1:
        state.h2_factor = 2.0 * eta(cost_error / 2, len(arms), first_runs) * (first_runs - 1)
    looks = list(_looks(first_runs, most))
    early = [look for look in EARLY_LOOKS if judges and look < first_runs]
    standing: dict[Arm, Standing] = dict.fromkeys(arms, "not settled")
    _settle_judges(pool, state, min(JUDGE_RUNS, most), limits, limit_error / 4, standing)
    runs = min([*early, first_runs])
    while True:
        pool.need([arms[i] for i in state.alive], first, first + runs)
        if runs == first_runs:
            state.variance = _pair_variances(pool.sample(arms, first, first + runs, SPENT))
        if runs in looks:
            _look(pool, state, runs, limits, limit_error / len(looks), standing)
        if runs in (*early, *looks):
            _screen(pool, state, runs, cost_error / 2 / (len(early) + len(looks)))
        if runs >= first_runs:
            _eliminate(pool, state, runs)
        done = _done(state, runs)
        if done or runs >= most:
            break
        ahead = [look for look in (*early, *looks) if look > runs]
        runs = min([most, runs + BLOCK, *ahead] if runs >= first_runs else ahead)
    costs = pool.sample([arms[i] for i in state.alive], first, first + runs, SPENT).mean(axis=1)
    left = [arms[state.alive[i]] for i in np.argsort(costs, kind="stable")]
    chosen = next((arm for arm in left if standing[arm] == "within"), None)
    return Selection(chosen, done, left, standing, runs)


def _looks(first_runs: int, most: int) -> Iterator[int]:
    runs = first_runs
    while runs < most:
        yield runs
        runs *= 2
    yield most


def _settle_judges(
    pool: Pool, state: _State, runs: int, limits: Limits, error: float, standing: dict[Arm, Standing]
) -> None:
    """Run the judges ahead of the others and see which are within the limits."""
    judges = [state.arms[i] for i in sorted(state.judges)]
    if judges:
        pool.need(judges, state.first, state.first + runs)
        standing |= standings(pool, judges, state.first, state.first + runs, limits, error)
        state.within |= {i for i in state.judges if standing[state.arms[i]] == "within"}
        state.alive = [i for i in state.alive if standing[state.arms[i]] != "over"]


def _pair_variances(costs: Floats) -> Floats:
    return np.array([np.var(costs - one, axis=1, ddof=1) for one in costs])


def _look(
    pool: Pool, state: _State, runs: int, limits: Limits, error: float, standing: dict[Arm, Standing]
) -> None:
    """See which of the arms still in are within the limits, and put out those that are over."""
    alive = [state.arms[i] for i in state.alive]
    stop, half = state.first + runs, error / 2 if state.judges else error
    # Shared out over all finalists, also those gone by now, so that it holds whichever stayed.
    found = standings(pool, alive, state.first, stop, limits, half * len(alive) / len(state.arms))
    if few := [state.arms[i] for i in state.alive if i in state.judges]:
        share = half / 2 * len(few) / len(state.judges)
        seen = standings(pool, few, state.first, stop, limits, share)
        found |= {arm: how for arm, how in seen.items() if how != "not settled"}
    for i in list(state.alive):
        arm = state.arms[i]
        if standing[arm] == "not settled":
            standing[arm] = found[arm]
        if standing[arm] == "within":
            state.within.add(i)
        elif standing[arm] == "over":
            state.alive.remove(i)


def _screen(pool: Pool, state: _State, runs: int, error: float) -> None:
    """Put out those surely dearer than one within, or than a judge within, by the spread of all runs."""
    alive = [state.arms[i] for i in state.alive]
    half, out = error / 2 if state.judges else error, set[Arm]()
    for judging, share in (
        (state.within, half / max(1, len(state.arms) - 1)),
        (state.within & state.judges, half / max(1, len(state.judges))),
    ):
        within = [state.arms[i] for i in state.alive if i in judging]
        out |= set(dearer(pool, alive, within, state.first, runs, state.worth, share))
    state.alive = [i for i in state.alive if state.arms[i] not in out]


def _eliminate(pool: Pool, state: _State, runs: int) -> None:
    """Go through the replications not looked at yet, one by one."""
    start = state.alive[:]
    if not start:
        return
    costs = pool.sample([state.arms[i] for i in start], state.first, state.first + runs, SPENT)
    means = dict(zip(start, np.cumsum(costs, axis=1) / np.arange(1, runs + 1), strict=True))
    begin = max(state.looked, state.first_runs - 1)
    for r in range(begin + 1, runs + 1):
        judges = [i for i in state.alive if i in state.within]
        state.alive = [
            i
            for i in state.alive
            if all(means[i][r - 1] - means[j][r - 1] <= _margin(state, i, j, r) for j in judges if j != i)
        ]
    state.looked = runs


def _margin(state: _State, i: int, other: int, r: int) -> float:
    scaled = state.h2_factor * float(state.variance[i, other]) / state.worth**2
    return max(0.0, state.worth / (2.0 * r) * (scaled - r))


def _done(state: _State, runs: int) -> bool:
    """Return whether nothing that is still in could be the better choice."""
    if not state.alive:
        return True
    if any(i not in state.within for i in state.alive):
        return False
    if runs < state.first_runs:
        return len(state.alive) == 1
    pairs = [state.variance[i, j] for i in state.alive for j in state.alive if i != j]
    longest = max((math.floor(state.h2_factor * v / state.worth**2) for v in pairs), default=0)
    return len(state.alive) == 1 or runs > longest
