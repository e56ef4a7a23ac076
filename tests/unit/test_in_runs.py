"""What runs make known of the criteria, by made-up runs."""

from types import SimpleNamespace

import pandas as pd
import pytest

from sim.scenario.read.load import load
from sim.study.check.criteria import judged
from sim.study.check.in_runs import with_runs
from sim.study.statistics.intervals import Interval

DAYS, LIFE = "days below target", "cartridge life"
ON_PAPER = judged(load("cottage"))
KNOWN = Interval(1.2, 0.6, 1.8, 0.95, "made up", 10)


def found(interval=KNOWN, limit=5.0, lives=(100.0, 140.0)):
    by_days = SimpleNamespace(interval=interval)
    compared = SimpleNamespace(
        summary=lambda name: SimpleNamespace(by_days=by_days), limit_days_below_target=limit
    )
    rows = pd.DataFrame({"policy": ["a", "b", "a"], "cartridge_days": [lives[0], 9.0, lives[1]]})
    made = with_runs(ON_PAPER, compared, rows, "a", "us")
    assert [one.key for one in made] == [one.key for one in ON_PAPER]
    assert [one for one in made if one.key not in (DAYS, LIFE)] == [
        one for one in ON_PAPER if one.key not in (DAYS, LIFE)
    ]
    return {one.key: one for one in made}


def test_both_are_not_known_on_paper():
    assert {one.key: one.state for one in ON_PAPER if one.key in (DAYS, LIFE)} == {
        DAYS: "not known",
        LIFE: "not known",
    }


@pytest.mark.parametrize(("limit", "state"), [(5.0, "pass"), (1.8, "pass"), (1.7, "fail"), (1.0, "fail")])
def test_the_upper_bound_of_days_is_held_against_the_limit_of_the_house(limit, state):
    one = found(limit=limit)[DAYS]
    assert one.state == state
    assert "upper 95 % bound in runs, looked after a" in one.note and one.said.startswith("1.8")


def test_one_run_has_no_bound_to_hold():
    assert found(Interval(1.2, float("nan"), float("nan"), 0.95, "one run", 1))[DAYS].state == "not known"


@pytest.mark.parametrize(
    ("lives", "state"), [((100.0, 140.0), "pass"), ((80.0, 98.0), "fail"), ((float("nan"),) * 2, "not known")]
)
def test_the_mean_life_of_cartridges_is_that_of_the_policy_spoken_of(lives, state):
    one = found(lives=lives)[LIFE]
    assert one.state == state
    if state == "pass":
        assert one.said.startswith("120")
