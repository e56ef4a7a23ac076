"""Common random numbers on the twin itself: what pairing shares, and what it was worth, measured.

A variance ratio of 1 is what independent runs give. Its own uncertainty is by the jackknife (Efron &
Tibshirani 1993, chapter 11, from memory).
"""

import numpy as np
import pytest

from sim.scenario.read.load import load
from sim.study.runs.means import Means
from sim.study.runs.replicate import study
from sim.study.runs.request import Design, Inputs
from sim.twin.run import common_inputs, run

RUNS, YEARS = 24, 2
PAIR = ("by the calendar", "by the readings")


@pytest.fixture(scope="module")
def house():
    return load("family_house")


@pytest.fixture(scope="module")
def costs(house):
    """Yearly costs of two policies on the same inputs, and of the second on inputs of another seed."""
    policies = [policy for policy in house.policies if policy.name in PAIR]

    def of(chosen, seed):
        rows = study(Design("house", house, tuple(chosen)), Inputs(seed, YEARS), RUNS).rows
        return [rows[rows["policy"] == policy.name]["cost"].to_numpy() for policy in chosen]

    return *of(policies, 11), *of(policies[1:], 12)


def ratio_with_error(x, y):
    """Return Var(x - y) / (Var x + Var y) and its jackknife standard error."""

    def ratio(keep):
        return np.var(x[keep] - y[keep]) / (np.var(x[keep]) + np.var(y[keep]))

    n = len(x)
    left_out = np.array([ratio(np.arange(n) != i) for i in range(n)])
    return ratio(np.arange(n) >= 0), np.sqrt((n - 1) / n * np.sum((left_out - left_out.mean()) ** 2))


def test_policies_of_a_replication_meet_the_same_weather_draws_and_lives(house):
    commons = [common_inputs(house, number, 5, 1) for number in (0, 1)]
    one, other = (
        [run(house, policy, common) for policy in house.policies if policy.name in PAIR] for common in commons
    )
    for field in ("start_s", "coefficient", "volume_m3", "duration_s"):
        np.testing.assert_array_equal(one[0].draws[field], one[1].draws[field])
    np.testing.assert_array_equal(one[0].rain_m, one[1].rain_m)
    # Another replication is another house, or pairing would be sharing by accident.
    assert not np.array_equal(one[0].rain_m, other[0].rain_m)
    assert len(one[0].draws) != len(other[0].draws)
    # A life of a part is that of its number: the first pump fails, or does not, alike under both policies.
    assert one[0].parts["pump"].life_s == one[1].parts["pump"].life_s or any(
        event.subject == "pump" for history in one for event in history.events
    )


def test_a_stage_that_is_left_out_leaves_the_others_what_they_had(house):
    alone = house.model_copy(update={"stages": house.stages[1:]})
    both, one = (common_inputs(scenario, 0, 5, 1) for scenario in (house, alone))
    tasks = len(house.tasks)
    np.testing.assert_array_equal(both.reading_noise[:, 1:], one.reading_noise)
    for field in ("adherence", "delay", "slips", "noticing"):
        table = getattr(both, field)
        assert len(table) == tasks + 2
        np.testing.assert_array_equal(np.delete(table, tasks, axis=0), getattr(one, field))
        assert len({row.tobytes() for row in table}) == len(table)  # nobody shares a chance
    assert abs(np.corrcoef(both.reading_noise.T) - np.eye(4)).max() < 4 / 365**0.5


def test_pairing_pays_and_independent_runs_show_that_it_is_the_pairing(costs, record_property):
    calendar, readings, elsewhere = costs
    paired, paired_error = ratio_with_error(calendar, readings)
    apart, apart_error = ratio_with_error(calendar, elsewhere)
    record_property("variance_ratio", f"{paired:.3f} +- {paired_error:.3f}")
    record_property("variance_ratio_independent", f"{apart:.3f} +- {apart_error:.3f}")
    print(
        f"variance ratio paired {paired:.2f} +/- {paired_error:.2f}, apart {apart:.2f} +/- {apart_error:.2f}"
    )
    assert paired + 3 * paired_error < 1
    assert abs(apart - 1) < 3 * apart_error


@pytest.mark.long
def test_what_pairing_saves_for_every_policy(house, record_property):
    # Against the first policy, 40 runs of 3 years: independent runs would take 1 / ratio times as many.
    rows = study(Design("house", house, house.policies), Inputs(21, 3), 40, Means(2)).rows
    costs = {policy.name: rows[rows["policy"] == policy.name]["cost"].to_numpy() for policy in house.policies}
    reference, *others = costs
    for name in others:
        ratio, error = ratio_with_error(costs[reference], costs[name])
        saved = f"{ratio:.2f} +- {error:.2f}, so 1 pair is worth {1 / ratio:.1f} independent ones"
        record_property(f"variance ratio, {name} less {reference}", saved)
        assert ratio - 3 * error < 1  # pairing does not hurt
