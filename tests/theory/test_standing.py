"""The three states and the choice on made-up houses whose truth is known.

The laws stand outside the code: a mean is what it was drawn with, and a verdict may be wrong as often as its
error says and no oftener (binomial, four standard errors).
"""

import math

import numpy as np
import pytest

from sim.study.compare.choice import Margins, Samples, choose, dominated
from sim.study.compare.standing import ERROR, Limit, joined, looks_up_to, standings
from sim.study.statistics.intervals import skewed_interval
from sim.study.statistics.mixed_hours import mixed_interval
from sim.study.statistics.rare import rare_interval

LOOKS = looks_up_to(80)
LIMIT = Limit(5.0, 0.5, skewed_interval)
MARGINS = Margins(days=1.0, money=25.0)


def gamma_days(rng, mean, runs=80, cv=0.25):
    """Days a year with the skewness the known chances leave, 2 cv."""
    shape = 1.0 / cv**2
    return rng.gamma(shape, mean / shape, runs)


def states_of(samples):
    return {name: one.state for name, one in standings(samples, LIMIT, LOOKS).items()}


@pytest.mark.parametrize("mean", [4.0, 4.8, 5.2, 6.0])
def test_a_verdict_is_wrong_no_oftener_than_its_error(mean):
    rng = np.random.default_rng(int(mean * 10))
    trials, wrong = 1000, "over" if mean <= 5.0 else "within"
    errors = sum(states_of({"a": gamma_days(rng, mean)})["a"] == wrong for _ in range(trials))
    assert errors <= trials * ERROR + 4.0 * math.sqrt(trials * ERROR * (1 - ERROR))


def test_two_policies_a_tenth_of_the_margin_apart_never_stand_on_opposite_sides():
    rng = np.random.default_rng(1)
    opposite = 0
    for _ in range(1000):
        shared = gamma_days(rng, 4.9)  # at the limit, where it is hardest
        found = states_of({"a": shared, "b": shared + 0.1 * MARGINS.days})
        opposite += {"within", "over"} == set(found.values())
    assert opposite == 0


def test_a_policy_well_over_the_limit_is_hardly_ever_called_within():
    rng = np.random.default_rng(2)
    trials = 1000
    within = sum(
        states_of({"a": gamma_days(rng, LIMIT.most + 2 * LIMIT.zone)})["a"] == "within" for _ in range(trials)
    )
    assert within <= 0.02 * trials


def test_a_mean_on_the_limit_is_called_so_once_it_is_known_well_enough():
    rng = np.random.default_rng(3)
    found = [states_of({"a": gamma_days(rng, 5.0, cv=0.15)})["a"] for _ in range(200)]
    assert found.count("at the limit") > 150  # half-width at 80 runs: some 3 x 0.75 / sqrt(80) = 0.25


def test_what_was_settled_stays_settled():
    first = np.full(10, 2.0) + np.linspace(-0.1, 0.1, 10)
    later = np.concatenate([first, np.full(70, 60.0)])
    assert standings({"a": first}, LIMIT, LOOKS)["a"].state == "within"
    again = standings({"a": later}, LIMIT, LOOKS)["a"]
    assert (again.state, again.runs) == ("within", 10)


def test_over_one_limit_is_over():
    assert joined(["within", "within"]) == "within"
    assert joined(["at the limit", "within"]) == "at the limit"
    assert joined(["undecided", "at the limit"]) == "undecided"
    assert joined(["undecided", "over"]) == "over"


def made(rng, runs, **policies):
    """Samples of policies on a shared house: each (days, cost, alarm hours)."""
    house = rng.normal(0.0, 1.0, runs)
    noise = lambda scale: rng.normal(0.0, scale, runs)  # noqa: E731
    return Samples(
        {name: 3.0 + (days - 3.0) + 0.3 * house + noise(0.3) for name, (days, _, _) in policies.items()},
        {name: cost + 50.0 * house + noise(20.0) for name, (_, cost, _) in policies.items()},
        {name: 8.0 + noise(1.0) for name in policies},
        {name: alarm + noise(10.0) for name, (_, _, alarm) in policies.items()},
    )


def test_the_cheapest_of_the_as_good_is_recommended():
    rng = np.random.default_rng(4)
    samples = made(rng, 40, plain=(2.6, 450.0, 440.0), read=(2.5, 640.0, 180.0), dear=(2.4, 800.0, 180.0))
    found = choose(samples, dict.fromkeys(samples.days, "within"), MARGINS, len(LOOKS))
    assert (found.recommended, found.settled) == ("plain", True)
    assert found.lead["read"].low > 0
    assert dominated(samples, MARGINS, list(samples.days), len(LOOKS)) == {"dear": "read"}


def test_a_cheaper_policy_that_is_not_told_yet_holds_the_choice_back():
    rng = np.random.default_rng(5)
    samples = made(rng, 40, plain=(2.6, 450.0, 440.0), read=(2.5, 640.0, 180.0))
    found = choose(samples, {"plain": "undecided", "read": "within"}, MARGINS, len(LOOKS))
    assert (found.recommended, found.settled) == (None, False)
    assert found.either == ("read", "plain")


def test_a_policy_with_clearly_more_days_is_not_as_good_however_cheap():
    rng = np.random.default_rng(6)
    samples = made(rng, 40, cheap=(4.6, 300.0, 100.0), read=(2.5, 640.0, 100.0))
    found = choose(samples, dict.fromkeys(samples.days, "within"), MARGINS, len(LOOKS))
    assert found.worse == ("cheap",)
    assert found.recommended == "read"


def test_policies_that_cost_the_same_within_what_matters_are_either():
    rng = np.random.default_rng(7)
    samples = made(rng, 80, one=(2.5, 640.0, 100.0), other=(2.5, 640.0, 100.0))
    found = choose(samples, dict.fromkeys(samples.days, "within"), MARGINS, len(LOOKS))
    assert found.recommended is None
    assert set(found.either) == {"one", "other"}
    assert found.settled


def test_the_recommendation_does_not_turn_with_the_seed():
    answers = set()
    for seed in range(200):
        rng = np.random.default_rng(1000 + seed)
        samples = made(rng, 80, plain=(2.8, 450.0, 440.0), read=(2.7, 640.0, 180.0), late=(4.5, 200.0, 900.0))
        for look in LOOKS:
            part = samples.first(look)
            states = {name: one.state for name, one in standings(part.days, LIMIT, LOOKS).items()}
            found = choose(part, states, MARGINS, len(LOOKS))
            if found.settled:
                break
        answers.add(found.recommended)
    assert answers <= {"plain", None}


@pytest.mark.parametrize("runs", [10, 20])
def test_the_interval_of_mixed_hours_covers_what_is_seldom_seen(runs):
    """Usual hours by a gamma law; an odd spell of 30 h on average in one run of twelve."""
    rng = np.random.default_rng(runs)
    truth, trials, covered = 6.0 + 30.0 / 12.0, 1000, 0
    for _ in range(trials):
        usual = rng.gamma(9.0, 6.0 / 9.0, runs)
        odd = np.where(rng.random(runs) < 1 / 12, rng.exponential(30.0, runs), 0.0)
        found = mixed_interval(usual, odd, 48.0, 0.95)
        covered += found.low <= truth <= found.high
    assert covered >= 0.93 * trials


def test_without_odd_hours_the_bound_is_that_of_none_seen():
    found = mixed_interval(np.full(20, 6.0), np.zeros(20), 16.0, 0.95)
    assert found.high - 6.0 == pytest.approx(rare_interval(np.zeros(20), 16.0, 0.95).high)


def test_what_was_settled_early_is_shown_with_the_bounds_of_all_runs():
    early, later = np.linspace(1.0, 2.0, 10), np.linspace(3.0, 4.0, 70)
    found = standings({"a": np.concatenate([early, later])}, LIMIT, LOOKS)["a"]
    assert found.state == "within" and found.runs == 10
    assert found.interval.low < (1.5 * 10 + 3.5 * 70) / 80 < found.interval.high
