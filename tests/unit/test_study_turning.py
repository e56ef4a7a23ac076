"""What would change the advice: made-up rows of other houses, and the sentences that must follow."""

import numpy as np
import pandas as pd
import pytest

from sim.scenario.read.load import load
from sim.study.compare.comparison import compare_by_goals
from sim.study.compare.turning import RUNS, other_houses, turning_sentences

CHEAP, DEAR = "as things fail", "by the readings"
COST = {CHEAP: 400.0, DEAR: 600.0}


def rows(days, runs=40, off_h=5.0, cost=COST):
    steady = np.arange(runs) % 3 - 1.0
    return pd.concat(
        [
            pd.DataFrame(
                {
                    "policy": name,
                    "replication": np.arange(runs),
                    "years": 3.0,
                    "cost": cost[name] + steady,
                    "water_off_h": off_h if name == CHEAP else 5.0,
                    "alarm_h": 2.0,
                    "days_below_target": mean + 0.1 * steady,
                    "least_dose_j_m2": 0.0,
                }
            )
            for name, mean in days.items()
        ],
        ignore_index=True,
    )


@pytest.fixture
def told(monkeypatch):
    site = load("family_house")
    site = site.model_copy(update={"policies": tuple(p for p in site.policies if p.name in COST)})
    base = compare_by_goals(rows({CHEAP: 2.0, DEAR: 2.0}), DEAR, site.goals, looks=(10, 20, 40))
    assert base.best == CHEAP

    def say(days_in, **more):
        asked = []

        def run(requests):
            asked.extend(requests)
            names = [item.policy for item in base.summaries]
            made = [
                rows({names[at]: days_in(one.design)[names[at]] for at in one.policies}, RUNS, **more)
                for one in requests
            ]
            return pd.concat(
                [part.assign(design=one.design) for part, one in zip(made, requests, strict=True)],
                ignore_index=True,
            )

        said = turning_sentences(site, base, run)
        assert {request.stop - request.first for request in asked} == {RUNS}
        assert len({request.design for request in asked}) == len(asked)  # no house is run twice
        return said

    return [house.kind for house in other_houses(site)], say


def test_houses_differ_in_one_thing_each():
    site = load("family_house")
    for house in other_houses(site):
        one, other = site.model_dump(), house.scenario.model_dump()
        parts = [name for name in one if one[name] != other[name]]
        assert len(parts) == 1
        assert len([key for key in one[parts[0]] if one[parts[0]][key] != other[parts[0]][key]]) == 1
    assert "valve" not in [house.kind for house in other_houses(load("training_hall"))]  # it has one


def test_the_first_step_at_which_another_way_is_better_is_told(told):
    kinds, say = told
    second = kinds.index("flow") + 1
    said = " ".join(say(lambda at: {CHEAP: 4.0 if at == second else 2.0, DEAR: 2.0}))
    assert (
        "'as things fail' would have 4.0 bad days a year: by 6 runs the choice would be 'by the readings' "
        "(2.0)."
    ) in said
    assert said.count("stays the advice") == 1  # however long an alarm waits


def test_where_no_way_keeps_to_the_limits_it_is_said(told):
    kinds, say = told
    said = say(lambda at: dict.fromkeys(COST, 9.0 if kinds[at] == "wait" else 2.0))
    assert any(
        "alarm for 7 days" in one
        and "have 9.0 bad days a year, over this house's limit of 5, and no way would keep to its limits."
        in one
        for one in said
    )


def test_the_limit_that_puts_the_advised_out_is_named_though_its_days_are_fewer(told):
    said = told[1](lambda at: {CHEAP: 2.0, DEAR: 2.4}, off_h=600.0)
    assert said[0].endswith(
        "'as things fail' would have 600 hours without water a year, over this house's limit of 500: by 6 "
        "runs the choice would be 'by the readings' (5.0)."
    )


def test_a_way_that_is_no_longer_the_cheapest_is_told_by_its_cost(told):
    said = told[1](lambda at: dict.fromkeys(COST, 2.0), cost={CHEAP: 700.0, DEAR: 600.0})
    assert said[0].endswith(
        "'as things fail' would cost 700 USD a year: by 6 runs the choice would be 'by the readings' (600)."
    )


def test_nothing_turns_where_days_differ_by_less_than_matters(told):
    said = told[1](lambda at: {CHEAP: 2.9, DEAR: 2.0})
    assert sum("stays the advice" in one for one in said) == 1
    assert "choose" not in " ".join(said)
    last = {house.kind: house.said for house in other_houses(load("family_house")) if house.kind != "valve"}
    steady = next(one for one in said if "stays the advice" in one)
    first, *rest = last.values()
    assert steady.startswith(f"{first}, or ") and steady.endswith(", 'as things fail' stays the advice.")
    assert all(f", or {one[0].lower()}{one[1:]}," in steady for one in rest) and rest
    assert "from 2.0 to 2.9 a year, and hours without water from 5.0 to 5.0" in said[-1]


def test_without_an_advice_nothing_turns_and_nothing_is_run():
    site = load("family_house")
    none = compare_by_goals(rows({CHEAP: 9.0, DEAR: 9.0}), DEAR, site.goals, looks=(10, 20, 40))
    assert none.best is None
    assert turning_sentences(site, none, lambda requests: pytest.fail("run")) == ()
