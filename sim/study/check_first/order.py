"""In which order mends restore something at least expected cost: exact, over sets of mends."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

Left = Callable[[frozenset[int]], float]  # share of cases that a set of mends leaves as it is


@dataclass(frozen=True)
class Order:
    """Mends by number, and the expected cost until it is restored or somebody is called."""

    mends: tuple[int, ...]
    cost: float


def cost_of(order: Sequence[int], costs: Sequence[float], left: Left, call: float) -> float:
    """Return the expected cost of mends done in order until one helps; then somebody is called.

    Examples
    --------
    >>> cost_of([0, 1], [3.0, 8.0], lambda done: 1.0 - 0.5 * len(done), 100.0)
    7.0
    """
    total, done = 0.0, frozenset[int]()
    for mend in order:
        total += costs[mend] * left(done)
        done |= {mend}
    return total + call * left(done)


def best_order(
    costs: Sequence[float], left: Left, call: float, opening: Sequence[str] = (), open_cost: float = 0.0
) -> Order:
    """Return the order of least expected cost; somebody may be called at any point.

    Parameters
    ----------
    costs : sequence of float
        Of each mend.
    call : float
        Of calling somebody, who restores it.
    opening : sequence of str, optional
        What is opened for each mend; its cost is paid with the first of those that share it.
    """
    groups = list(opening) or [""] * len(costs)

    def price(mend: int, done: frozenset[int]) -> float:
        paid = not groups[mend] or any(groups[one] == groups[mend] for one in done)
        return costs[mend] + (0.0 if paid else open_cost)

    @cache
    def best(done: frozenset[int]) -> tuple[float, tuple[int, ...]]:
        share = left(done)
        found = (call * share, ())
        for mend in sorted(set(range(len(costs))) - done):
            rest, after = best(done | {mend})
            cost = price(mend, done) * share + rest
            if cost < found[0] - 1e-12:
                found = (cost, (mend, *after))  # type: ignore[assignment]
        return found

    cost, mends = best(frozenset())
    return Order(mends, cost)
