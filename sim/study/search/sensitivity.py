"""What moves the difference between the choice and its rival: prices by arithmetic, the house by runs."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sim.scenario.read.scenario_tables import scenario_of, tables_of
from sim.scenario.scenario import Scenario
from sim.study.runs.means import Opener
from sim.study.runs.request import Design
from sim.study.search.catalogue import scaled
from sim.study.search.places import put, value_at
from sim.study.search.pool import SPENT, Arm, Floats, Pool
from sim.study.search.search import SELECT_FROM
from sim.study.statistics.intervals import Interval, bonferroni, mean_interval
from sim.study.wording import number

Z90 = 1.2815515655446004  # of the normal law
SPREAD = 0.4  # lognormal sigma of dirt between houses, taken as that of films [A]
RUNS = 10
# What people call it, columns whose sum is in proportion to it.
PRICES: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("the price of cartridges, lamps and other parts", ("cost_parts", "cost_part_life")),
    ("the worth of an hour of labour", ("cost_labour",)),
    ("the call-out fee", ("cost_callouts",)),
    ("the price of electricity", ("cost_energy",)),
    ("the price of tanker or mains water", ("cost_water",)),
)
EQUIPMENT = "the price of equipment"


@dataclass(frozen=True)
class Mover:
    """Something that moves the difference."""

    name: str  # in words
    change: Interval  # cost of the choice less that of its rival, changed by this much [money/year]
    # for a price: times today's at which the two cost the same; nan where none above 0 does
    factor: float = float("nan")


def upper_tenth(spread: float) -> float:
    """Return how many times its mean a lognormal rate is in the tenth of houses where it is greatest.

    exp(1.2816 spread - spread^2 / 2): the 90th percentile over the mean.

    Parameters
    ----------
    spread : float
        Lognormal sigma, at least 0.

    Examples
    --------
    >>> round(upper_tenth(0.4), 4)
    1.5413
    """
    return float(np.exp(Z90 * spread - 0.5 * spread * spread))


def hard(scenario: Scenario) -> Scenario:
    """Return the scenario with every rate of fouling in its upper tenth.

    Dust of the roof and films of sleeve and window at their 90th percentile over houses, with no further
    spread of films between replications; the spread of dirt is taken as that of films [A].
    """
    film, dirt = upper_tenth(scenario.uv.film_spread), upper_tenth(SPREAD)
    tables = tables_of(scenario)
    for key, factor in (
        ("roof.dust_limit", dirt),
        ("roof.dust_base", dirt),
        ("uv.sleeve_film", film),
        ("uv.window_film", film),
        ("uv.film_spread", 0.0),
    ):
        put(tables, key, scaled(value_at(tables, key), factor))
    return scenario_of(tables, "upper tenth")


def price_movers(pool: Pool, chosen: Arm, rival: Arm, equipment: Sequence[float]) -> list[Mover]:
    """Return how each price moves the difference, and the price at which the two cost the same.

    `change` is for a price a tenth higher; the largest first.

    Parameters
    ----------
    equipment : sequence of float
        Cost of the equipment of each design [money/year].
    """
    total = _paired(pool, chosen, rival, (SPENT,))
    parts = {name: _paired(pool, chosen, rival, columns) for name, columns in PRICES}
    # Parts that renew equipment move with its price, not with that of parts.
    renewed = _paired(pool, chosen, rival, ("cost_renewals",))
    parts[PRICES[0][0]] = parts[PRICES[0][0]] - renewed
    gap = equipment[chosen.design] - equipment[rival.design]
    parts[EQUIPMENT] = np.full(total.size, gap)
    each = bonferroni(0.95, len(parts))
    found = []
    for name, part in parts.items():
        share = mean_interval(0.1 * part, each)
        certain = part.any() and (share.low > 0 or share.high < 0)
        factor = 1.0 - float(total.mean()) / float(part.mean()) if certain else float("nan")
        found.append(Mover(name, share, factor if factor > 0 else float("nan")))
    return sorted(found, key=lambda mover: -abs(mover.change.estimate))


def house_movers(
    opener: Opener, pool: Pool, chosen: Arm, rival: Arm, equipment: Sequence[float], runs: int = RUNS
) -> list[Mover]:
    """Return how what is not known about the house moves the difference, by running both anew.

    The largest first; the same weather with and without each change.

    Parameters
    ----------
    equipment : sequence of float
        Cost of the equipment of each design [money/year].
    runs : int
        Replications of each, at least 2.
    """
    designs, costs = [], []
    for _, keys in (("as it is", ()), *HOUSE):
        for arm in (chosen, rival):
            design = pool.designs[arm.design]
            house = _changed(design.scenario, keys)
            policy = design.policies[arm.policy]
            designs.append(Design(design.label, house, (policy,)))
            costs.append(equipment[arm.design])
    with opener(designs, "sensitivity") as runner:
        changed = Pool(runner, costs)
        changed.need(changed.arms, 0, runs)
    arms = [Arm(at, 0) for at in range(len(designs))]
    spent = changed.sample(arms, 0, runs, SPENT)
    gaps = spent[0::2] - spent[1::2]
    each = bonferroni(0.95, len(HOUSE))
    found = [Mover(name, mean_interval(gaps[at] - gaps[0], each)) for at, (name, _) in enumerate(HOUSE, 1)]
    return sorted(found, key=lambda mover: -abs(mover.change.estimate))


_DIRT = upper_tenth(SPREAD)
HOUSE: tuple[tuple[str, tuple[tuple[str, float], ...]], ...] = (
    (f"{number(_DIRT)} times the dirt off the roof", (("roof.dust_limit", _DIRT), ("roof.dust_base", _DIRT))),
    (
        f"{number(_DIRT)} times the film on sleeve and window",
        (("uv.sleeve_film", _DIRT), ("uv.window_film", _DIRT)),
    ),
    ("a quarter more people", (("house.people", 1.25),)),
    ("a roof of four fifths", (("roof.area", 0.8),)),
    ("a fifth fewer of the tasks done when due", (("people.adherence", 0.8),)),
)


def _changed(scenario: Scenario, keys: tuple[tuple[str, float], ...]) -> Scenario:
    if not keys:
        return scenario
    tables = tables_of(scenario)
    for key, factor in keys:
        put(tables, key, scaled(value_at(tables, key), factor))
    return scenario_of(tables, "sensitivity")


def _paired(pool: Pool, chosen: Arm, rival: Arm, columns: tuple[str, ...]) -> Floats:
    """Return the sum of columns, of the choice less its rival, over runs both had in the same weather."""
    total: Floats | float = 0.0
    for column in columns:
        first, second = pool.whole(chosen, column), pool.whole(rival, column)
        shared = sorted(set(first) & set(second))
        fresh = [number for number in shared if number >= SELECT_FROM] or shared
        total = total + np.array([first[n] - second[n] for n in fresh])
    assert isinstance(total, np.ndarray)
    return total
