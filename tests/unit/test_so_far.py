"""What a search hands on while it goes on: means of the runs there are, worked out here by hand."""

import itertools
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from sim.commands.searched import so_far_table
from sim.errors import Interrupted
from sim.scenario.read.load import load
from sim.study.question import Site
from sim.study.questions import answer_files, ask, read_answer
from sim.study.runs.means import Means
from sim.study.search.so_far import SoFar, so_far
from sim.study.size.question import SizeQuestion
from sim.study.tune.question import TuneQuestion
from sim.study.tune.settings_grid import dials, line_through, own_point, point_of, policy_at


@pytest.fixture(scope="module")
def site():
    return Site(load("cottage"))


@pytest.fixture(scope="module")
def sizes(site):
    handed = []
    question = SizeQuestion(
        site=site, policies=("by the calendar",), tries=("pressure_tank.volume=100 L,150 L",), years=1,
        seed=1, worth=20.0, replications=4, by_criteria=False,
    )  # fmt: skip
    return handed, ask(question, Means(on_partial=handed.append))


def test_each_arm_is_told_as_soon_as_each_can_have_a_run_then_at_doublings(sizes):
    finished = [one.finished for one in sizes[0]]
    assert 2 <= finished[0] <= finished[-1] <= 8
    assert all(after >= 2 * before for before, after in itertools.pairwise(finished))
    assert all(one.table["runs"].sum() == one.finished for one in sizes[0])


def test_its_means_are_those_of_the_rows(sizes):
    handed, answer = sizes
    rows, last = answer.study.rows, handed[-1].table
    assert len(last) == 2
    for line in last.itertuples():
        own = rows[(rows["label"] == line.name) & (rows["replication"] < line.runs)]
        assert line.runs == len(own) > 0
        assert line.cost == pytest.approx(own["cost_a_year"].mean(), rel=1e-12)
        assert line.days == pytest.approx(max(own["days_expected"].mean(), 0.0), rel=1e-12)
        assert line.water_off_h == pytest.approx(own["water_off_h"].mean(), rel=1e-12)
    assert list(last["cost"]) == sorted(last["cost"])


def test_it_goes_through_files_and_says_that_it_is_no_verdict(sizes, tmp_path):
    found = sizes[0][0]
    for name, content in answer_files(found, {}).items():
        (tmp_path / name).write_bytes(content)
    again = read_answer(tmp_path)
    assert isinstance(again, SoFar) and again.finished == found.finished
    assert again.table.equals(found.table)
    title = str(so_far_table(found, "USD").title)
    assert "not a water test" in title and "no verdict" in title


def test_a_setting_is_told_by_what_differs_from_today(site):
    question = TuneQuestion(
        site=site, policy="by the calendar", only=("wipe sleeve and window",), years=1, seed=1, worth=20.0,
        replications=2,
    )  # fmt: skip
    names = set()

    def until_others_are_told(found):
        names.update(found.table["name"])
        if len(names) > 1:
            raise Interrupted("what is asked here is told")

    with pytest.raises(Interrupted):
        ask(question, Means(on_partial=until_others_are_told))
    assert "today's setting" in names
    others = names - {"today's setting"}
    assert all(one.startswith("wipe sleeve and window at ") for one in others)
    assert all(one.endswith("(now 61 days)") for one in others)  # two months


def test_a_point_is_found_again_in_the_policy_it_was_made_of(site):
    for policy in site.scenario.policies[:3]:
        found = dials(site.scenario, policy, 3)
        points = line_through(found, own_point(found))
        assert [point_of(policy_at(policy, found, point), found) for point in points] == points
        assert len(points) > len(np.unique([dial.own for dial in found]))


def test_without_equipment_the_cost_is_all_that_was_spent_and_with_it_renewals_stand_in_its_price():
    rows = pd.DataFrame(
        {"design": [0, 0], "policy": ["a", "a"], "cost": [500.0, 540.0], "cost_renewals": [30.0, 50.0],
         "water_off_h": [2.0, 4.0], "days_below_target": [1.0, 2.0]}
    )  # fmt: skip
    design = SimpleNamespace(policies=(SimpleNamespace(name="a"),))
    runner = SimpleNamespace(finished=lambda: rows, designs=(design,))
    (bare,) = so_far(runner, lambda design, policy: policy.name).table.itertuples(index=False)
    assert tuple(bare) == ("a", 2, 520.0, 1.5, 3.0)
    (equipped,) = so_far(runner, lambda design, policy: policy.name, [100.0]).table.itertuples(index=False)
    assert equipped.cost == 580.0  # 520 less 40 of renewals, and 100 for the equipment
