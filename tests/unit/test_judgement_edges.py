"""Where verdicts turn: samples without spread, whose bounds are their means, just at a limit and beyond."""

import math
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from sim.study.compare import choice
from sim.study.compare.causes_said import origins
from sim.study.compare.choice import MOST_MORE_ALARM_H, MOST_MORE_OFF_H, Margins, Samples, choose, dominated
from sim.study.compare.comparison import compare
from sim.study.compare.differences import differences
from sim.study.compare.measures import UNSEEN_OFF_H, off_interval
from sim.study.statistics.intervals import Interval, paired_interval, skewed_interval
from sim.study.statistics.mixed_hours import mixed_interval
from sim.study.statistics.rare import rare_interval
from sim.study.statistics.stopping import FIRST_LOOK, enough, look_ahead
from sim.study.statistics.year_bounds import hours_of_year

MARGINS = Margins(days=1.0, money=25.0)


def made(**policies):
    """Twenty like runs of each: days, cost, water-off hours and alarm hours a year."""
    columns = zip(*policies.values(), strict=True)
    return Samples(
        *({name: np.full(20, x) for name, x in zip(policies, one, strict=True)} for one in columns)
    )


@pytest.mark.parametrize(
    ("more", "advised"), [(0.899, "cheap"), (0.901, None), (1.099, None), (1.101, "dear")]
)
def test_days_more_by_the_margin_are_as_good_and_by_more_are_not(more, advised):
    """Days are known to a tenth (tests/accuracy.csv): nearer to the margin than that it cannot be told."""
    samples = made(dear=(2.0, 600.0, 5.0, 10.0), cheap=(2.0 + more, 400.0, 5.0, 10.0))
    assert choose(samples, dict.fromkeys(samples.days, "within"), MARGINS, 4).recommended == advised


OTHER = (2.0, 500.0, 5.0, 100.0)


@pytest.mark.parametrize(
    ("change", "stands_in"),
    [
        ((0.0, 0.0, 0.0, 0.0), False),  # nothing is better
        ((0.0, -1.0, 0.0, 0.0), True),
        ((0.0, 0.5, 0.0, -50.0), False),  # it costs more
        ((1.099, -1.0, MOST_MORE_OFF_H, MOST_MORE_ALARM_H), True),  # each just as much more as it may
        ((1.101, -1.0, 0.0, 0.0), False),  # days are known to a tenth
        ((0.0, -1.0, MOST_MORE_OFF_H + 0.1, 0.0), False),
        ((0.0, -1.0, 0.0, MOST_MORE_ALARM_H + 0.1), False),
    ],
)
def test_one_stands_in_for_another_by_all_four_figures(change, stands_in):
    rival = tuple(base + more for base, more in zip(OTHER, change, strict=True))
    found = dominated(made(other=OTHER, rival=rival), MARGINS, ["other"], 4)
    assert found == {}  # nobody else is a candidate
    found = dominated(made(other=OTHER, rival=rival), MARGINS, ["other", "rival"], 4)
    assert (found.get("other") == "rival") is stands_in
    assert MOST_MORE_OFF_H == 10.0 and MOST_MORE_ALARM_H == 24.0  # as the words of `dominated` say


@pytest.mark.parametrize(
    ("causes", "said"),
    [
        ({}, []),
        ({"film": 0.0}, []),
        ({"power cut": 0.5}, ["100 % from power cuts"]),
        ({"power cut": 50.0, "film": 45.0, "other": 5.0},
         ["50 % from power cuts", "45 % from film on the sleeve", "5.0 % from something else"]),
        ({"power cut": 99.0, "film": 1.0}, ["99 % from power cuts"]),  # a hundredth is rounding
        ({"power cut": 98.0, "film": 2.0}, ["98 % from power cuts", "2.0 % from rarer causes"]),
    ],
)  # fmt: skip
def test_causes_are_told_from_a_twentieth_on_and_the_rest_from_a_hundredth(causes, said):
    assert origins(SimpleNamespace(causes=causes)) == said


def frame(runs, costs=(500.0, 600.0)):
    return pd.DataFrame(
        [
            {"policy": name, "replication": at, "years": 1.0, "cost": cost + (at % 2) * step}
            | {"water_off_h": 5.0, "alarm_h": 10.0, "days_below_target": 0.0, "least_dose_j_m2": 500.0}
            for name, cost, step in (("one", costs[0], 3.0), ("two", costs[1], -2.0))
            for at in range(runs)
        ]
    )  # fmt: skip


def test_nothing_is_called_dominated_before_the_first_look():
    assert compare(frame(9), "one", 5.0, looks=(10, 20)).dominated == {}
    assert compare(frame(10), "one", 5.0, looks=(10, 20)).dominated == {"two": "one"}
    assert compare(frame(2), "one", 5.0).dominated == {"two": "one"}  # two runs are enough to see a spread
    assert compare(frame(1), "one", 5.0).dominated == {}


def test_two_runs_have_a_correlation_and_one_has_none():
    def found(runs):
        rows = frame(runs)
        groups = {name: rows[rows["policy"] == name] for name in ("one", "two")}
        return differences(groups, "one", 0.95, stopped=False)[0]

    assert found(2).cost_correlation == pytest.approx(-1.0)
    assert found(2).cost_variance_ratio == pytest.approx((5.0**2) / (3.0**2 + 2.0**2))
    assert math.isnan(found(1).cost_correlation) and math.isnan(found(1).cost_variance_ratio)


def test_usual_and_odd_hours_are_joined_by_squares():
    usual, odd = [5.0, 6.0, 7.0, 6.0], [0.0, 0.0, 0.0, 40.0]
    u, o = skewed_interval(usual, 0.95), rare_interval(odd, 60.0, 0.95)
    found = mixed_interval(usual, odd, 60.0, 0.95)
    assert found.estimate == 16.0
    assert found.low == pytest.approx(16.0 - math.hypot(6.0 - u.low, 10.0 - o.low))
    assert found.high == pytest.approx(16.0 + math.hypot(u.high - 6.0, o.high - 10.0))
    many = [0.0] * 19 + [2.0]
    assert 0.0 < mixed_interval([5.0, 6.0] * 10, many, 4.0, 0.95).low < 5.5
    assert mixed_interval([1.0, 0.0, 0.0, 0.0], [0.0, 0.0, 0.0, 0.1], 60.0, 0.95).low >= 0.0


def test_a_difference_of_hours_is_no_more_than_a_year_either_way():
    found = hours_of_year(Interval(0.0, -9000.0, 9000.0, 0.95, "Student t", 4))
    assert (found.low, found.high) == (-8784.0, 8784.0)


def test_what_has_held_is_counted_from_the_first_look_on():
    """Differences that go up and down by one: at every look from the first on they are known well enough."""
    runs = FIRST_LOOK + 4
    values = {"other": [(-1.0) ** at for at in range(runs)]}
    met, said = enough(values, 5.0, 0.95)
    assert met is (look_ahead(FIRST_LOOK) <= 4)
    assert "held for 4" in said
    assert look_ahead(200) == 2 * look_ahead(100) == 2 * look_ahead(1)


@pytest.mark.parametrize(("policies", "pairs"), [(2, 1), (3, 2), (5, 4)])
def test_the_error_is_shared_out_over_looks_and_pairs_with_one(monkeypatch, policies, pairs):
    """Bonferroni: each bound of a pair errs by its share of the whole, on either side."""
    seen = set()

    def paired(one, other, confidence):
        seen.add(round(confidence, 12))
        return paired_interval(one, other, confidence)

    monkeypatch.setattr(choice, "paired_interval", paired)
    names = [f"p{k}" for k in range(policies)]
    samples = made(**dict.fromkeys(names, OTHER))
    choose(samples, dict.fromkeys(names, "within"), MARGINS, 4, 0.02)
    dominated(samples, MARGINS, names, 4, 0.02)
    assert seen == {round(1.0 - 2.0 * 0.02 / (4 * pairs), 12)}


def test_water_off_hours_join_the_usual_and_the_odd_of_their_two_columns():
    usual, odd = [5.0, 6.0, 7.0, 6.0], [0.0, 0.0, 0.0, 40.0]
    found = off_interval(np.column_stack([usual, odd]), 2.0, 0.95)
    wanted = hours_of_year(mixed_interval(usual, odd, UNSEEN_OFF_H / 2.0, 0.95))
    assert (found.estimate, found.low, found.high) == (wanted.estimate, wanted.low, wanted.high)
    assert found.estimate == 16.0


@pytest.mark.parametrize(("more", "weighed"), [(-10.0, True), (-0.5, True), (0.5, False)])
def test_a_cheaper_one_that_stands_at_a_limit_is_for_the_owner_to_weigh(more, weighed):
    """Costs without spread: cheaper by any amount it may be the cheapest, dearer by any it is not."""
    samples = made(kept=(2.0, 500.0, 5.0, 10.0), marginal=(2.0, 500.0 + more, 5.0, 10.0))
    found = choose(samples, {"kept": "within", "marginal": "at the limit"}, MARGINS, 4)
    assert found.either == (("kept", "marginal") if weighed else ())
    assert found.recommended == (None if weighed else "kept")
