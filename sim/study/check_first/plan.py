"""Which check first: one step ahead, two where the best lie close, by expected cost until it is restored.

One fault is taken to be there. A check divides the causes, a mend ends its own, and who is called ends all.
"""

from collections.abc import Sequence
from dataclasses import dataclass

CLOSE = 0.1  # relative gap of the best two under which a second step is looked ahead
_DEEPEST = 12
Shares = tuple[float, ...]


@dataclass(frozen=True)
class Look:
    """A check: its cost, and the chance of its first result by cause."""

    cost: float
    chances: Shares


@dataclass(frozen=True)
class Case:
    """What can be looked at, what each cause's mend costs (infinite: none), and what a call costs."""

    looks: tuple[Look, ...]
    mends: Shares
    call: float


@dataclass(frozen=True)
class Step:
    """One step of a plan.

    Attributes
    ----------
    look : int
        Number of the check, -1 for "mend in order of likely against cost, then call".
    shares : tuple of float
        Of the causes before it.
    worth : float
        By how much the check lowers what is expected to be paid, its own cost off.
    yes_shares : tuple of float
        Of the causes after its first result.
    """

    look: int
    shares: Shares
    worth: float = 0.0
    yes_shares: Shares = ()


def after(shares: Sequence[float], chances: Sequence[float], yes: bool) -> tuple[float, Shares]:
    """Return the chance of a result and the shares of the causes after it."""
    joint = [p * (c if yes else 1.0 - c) for p, c in zip(shares, chances, strict=True)]
    whole = sum(joint)
    return whole, tuple(one / whole for one in joint) if whole > 0.0 else tuple(shares)


def mending(case: Case, shares: Shares) -> tuple[float, tuple[int, ...]]:
    """Return the expected cost of mending in the best order, then calling, and that order.

    Notes
    -----
    The mend with the most chance for its cost comes first (Kadane & Simon 1977, Ann. Stat. 5:237, from
    memory); whoever is called may come before those that are not worth trying.
    """
    able = [k for k, cost in enumerate(case.mends) if cost < case.call and shares[k] > 0.0]
    able.sort(key=lambda k: case.mends[k] / shares[k])
    best, order = case.call, ()
    spent, left = 0.0, 1.0
    for place, k in enumerate(able, 1):
        spent += left * case.mends[k]
        left -= shares[k]
        total = spent + left * case.call
        if total < best - 1e-12:
            best, order = total, tuple(able[:place])  # type: ignore[assignment]
    return best, order


def value(case: Case, shares: Shares, left: frozenset[int], depth: int) -> float:
    """Return the expected cost when at most so many more checks are made."""
    best = mending(case, shares)[0]
    if depth == 0:
        return best
    return min([best, *(looked(case, shares, left, k, depth) for k in left)])


def looked(case: Case, shares: Shares, left: frozenset[int], k: int, depth: int) -> float:
    """Return the expected cost when one check is made now, and at most so many with it."""
    total = case.looks[k].cost
    for yes in (True, False):
        chance, then = after(shares, case.looks[k].chances, yes)
        if chance > 0.0:
            total += chance * value(case, then, left - {k}, depth - 1)
    return total


def chosen(case: Case, shares: Shares, left: frozenset[int]) -> tuple[int, float]:
    """Return the check to make now and what it saves, -1 where mending comes first."""
    now = mending(case, shares)[0]
    depth = 1
    found = sorted((looked(case, shares, left, k, depth), k) for k in left)
    first = sorted([now, *(cost for cost, _ in found)])
    if len(first) > 1 and first[1] - first[0] <= CLOSE * first[0]:
        depth = 2
        found = sorted((looked(case, shares, left, k, depth), k) for k in left)
    if not found or found[0][0] >= now - 1e-9:
        return -1, 0.0
    return found[0][1], now - found[0][0]


def plan(case: Case, shares: Shares) -> tuple[Step, ...]:
    """Return the steps along which every check shows nothing, to the mends that remain."""
    left, steps = frozenset(range(len(case.looks))), list[Step]()
    while True:
        k, saved = chosen(case, shares, left)
        if k < 0:
            return (*steps, Step(-1, shares))
        _, yes = after(shares, case.looks[k].chances, True)
        steps.append(Step(k, shares, saved, yes))
        shares, left = after(shares, case.looks[k].chances, False)[1], left - {k}


def expected(case: Case, shares: Shares, left: frozenset[int] | None = None, depth: int = 0) -> float:
    """Return what is expected to be paid when every step is chosen so, whatever the results."""
    left = frozenset(range(len(case.looks))) if left is None else left
    k, _ = chosen(case, shares, left)
    if k < 0 or depth >= _DEEPEST:
        return mending(case, shares)[0]
    total = case.looks[k].cost
    for yes in (True, False):
        chance, then = after(shares, case.looks[k].chances, yes)
        if chance > 1e-6:
            total += chance * expected(case, then, left - {k}, depth + 1)
    return total


def idle(case: Case, shares: Shares) -> tuple[int, ...]:
    """Return the checks that cannot change what is done, whatever they show."""
    now = mending(case, shares)[0]
    none = frozenset[int]()
    return tuple(
        k for k, look in enumerate(case.looks) if looked(case, shares, none, k, 1) - look.cost >= now - 1e-9
    )
