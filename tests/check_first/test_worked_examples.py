"""Published worked examples and identities of tests and orders of repair."""

import itertools

import numpy as np
import pytest

from sim.study.check_first.order import best_order, cost_of
from sim.study.check_first.plan import Case, Look, expected, idle, mending, plan, value
from sim.study.check_first.worth import worth


def test_the_oil_wildcatter():
    """Raiffa 1968; tables as a public help page has them; net 22.5 of Shenoy 1992 (from notes)."""
    prior = np.array([0.5, 0.3, 0.2])  # dry, wet, soaking
    payoff = np.array([[-70.0, 50.0, 200.0], [0.0, 0.0, 0.0]])  # drill, do not
    seismic = np.array([[0.1, 0.3, 0.5], [0.3, 0.4, 0.4], [0.6, 0.3, 0.1]])  # closed, open, diffuse
    found = worth(prior, payoff, seismic)
    assert found.now == pytest.approx(20.0)
    assert found.tested == pytest.approx(32.5)
    assert found.of_test == pytest.approx(12.5)
    assert found.tested - 10.0 == pytest.approx(22.5)
    assert found.known - found.now == pytest.approx(35.0)


@pytest.mark.parametrize(("p", "first", "second"), [(0.3, 4.0, 8.0), (0.7, 4.0, 8.0), (0.4, 2.0, 6.0)])
def test_of_two_causes_the_likelier_for_its_cost_comes_first(p, first, second):
    """Exercise of a text on probability: 1 comes first if and only if C1/p <= C2/(1 - p)."""
    shares = (p, 1.0 - p)
    found = best_order([first, second], lambda done: 1.0 - sum(shares[k] for k in done), 1e6)
    assert (found.mends[0] == 0) == (first / p <= second / (1.0 - p))


def test_three_tests_of_a_board_in_series():
    """Three tests that stop at the first failure: 51.75/.125, 2.00/.075, 52.40/.140 (from notes)."""
    costs, fails = [51.75, 2.00, 52.40], [0.125, 0.075, 0.140]

    def left(done):
        return float(np.prod([1.0 - fails[k] for k in done]))

    found = best_order(costs, left, 0.0)
    assert found.cost == 0.0  # free to stop: nothing is tested at all
    every = {order: cost_of(order, costs, left, 0.0) for order in itertools.permutations(range(3))}
    assert min(every, key=every.get) == (1, 2, 0)
    assert every[1, 2, 0] == pytest.approx(91.6371, abs=5e-5)
    assert every[0, 1, 2] == pytest.approx(95.9112, abs=5.001e-5)  # exactly half a last digit off: 95.91125


def test_neighbours_change_places_as_chance_over_cost_says():
    """Swap of two neighbours in an order of single-fault repairs changes its cost by p2 C1 - p1 C2."""
    rng = np.random.default_rng(5)
    for _ in range(20):
        shares, costs = rng.dirichlet(np.ones(5)), rng.uniform(1.0, 9.0, 5)

        def left(done, shares=shares):
            return 1.0 - sum(shares[k] for k in done)

        order = list(rng.permutation(5))
        k = int(rng.integers(4))
        other = [*order[:k], order[k + 1], order[k], *order[k + 2 :]]
        a, b = order[k], order[k + 1]
        change = cost_of(other, costs, left, 50.0) - cost_of(order, costs, left, 50.0)
        assert change == pytest.approx(shares[a] * costs[b] - shares[b] * costs[a], abs=1e-9)


def test_what_is_opened_once_is_paid_once():
    """Two mends behind one cover, which is paid with the first of them."""
    shares, costs = (0.5, 0.3, 0.2), [2.0, 3.0, 9.0]

    def left(done):
        return 1.0 - sum(shares[k] for k in done)

    found = best_order(costs, left, 1e3, ["chamber", "chamber", ""], 10.0)
    by_hand = {}
    for order in itertools.permutations(range(3)):
        total, done, opened = 0.0, frozenset(), False
        for k in order:
            opening = 10.0 if k < 2 and not opened else 0.0
            opened |= k < 2
            total += left(done) * (costs[k] + opening)
            done |= {k}
        by_hand[order] = total
    assert found.cost == pytest.approx(min(by_hand.values()))
    assert by_hand[found.mends] == pytest.approx(found.cost)


def brute(case, shares, left):
    """Return the least expected cost over all trees of checks and mends, with no rule of thumb."""
    best = min(
        case.call,
        *(
            sum(
                case.mends[k] * (1.0 - sum(shares[j] for j in order[:place])) for place, k in enumerate(order)
            )
            + case.call * (1.0 - sum(shares[k] for k in order))
            for size in range(1, len(shares) + 1)
            for order in itertools.permutations(range(len(shares)), size)
        ),
    )
    for k in left:
        total = case.looks[k].cost
        for result in (case.looks[k].chances, [1.0 - c for c in case.looks[k].chances]):
            joint = np.array(shares) * result
            if joint.sum() > 0.0:
                total += joint.sum() * brute(case, tuple(joint / joint.sum()), left - {k})
        best = min(best, total)
    return best


def problem(rng, causes=4, looks=2):
    chances = rng.uniform(0.02, 0.98, (looks, causes))
    return Case(
        tuple(Look(float(rng.uniform(0.5, 4.0)), tuple(map(float, row))) for row in chances),
        tuple(map(float, rng.uniform(2.0, 60.0, causes))), 100.0,
    ), tuple(map(float, rng.dirichlet(np.ones(causes))))  # fmt: skip


def test_the_full_look_ahead_is_the_least_of_all_trees():
    rng = np.random.default_rng(11)
    for _ in range(40):
        case, shares = problem(rng)
        every = frozenset(range(len(case.looks)))
        assert value(case, shares, every, len(every)) == pytest.approx(brute(case, shares, every), abs=1e-9)


def test_one_or_two_steps_ahead_cost_little_more_than_all_trees():
    rng = np.random.default_rng(12)
    over = []
    for _ in range(40):
        case, shares = problem(rng, 4, 3)
        least = value(case, shares, frozenset(range(3)), 3)
        over.append(expected(case, shares) / least - 1.0)
        assert over[-1] >= -1e-9
    assert np.mean(over) < 0.02


def test_a_free_check_never_costs_and_is_worth_less_than_to_know_all():
    rng = np.random.default_rng(13)
    for _ in range(40):
        case, shares = problem(rng, 4, 1)
        free = Case((Look(0.0, case.looks[0].chances),), case.mends, case.call)
        with_it, without = value(free, shares, frozenset({0}), 1), mending(case, shares)[0]
        known = sum(p * min(cost, case.call) for p, cost in zip(shares, case.mends, strict=True))
        assert known - 1e-9 <= with_it <= without + 1e-9


def test_a_check_that_cannot_change_what_is_done_is_told_and_not_made():
    case = Case((Look(0.1, (0.6, 0.4)), Look(1.0, (0.98, 0.02))), (30.0, 60.0), 95.0)
    shares = (0.5, 0.5)
    assert idle(case, shares) == (0,)
    assert all(step.look != 0 for step in plan(case, shares))
