"""When a study looks at what it has, what it hands on meanwhile and when it ends; the runs are made up."""

import pytest

from sim.scenario.read import load
from sim.study.runs import batch
from sim.study.runs.replicate import COMPLETE, study
from sim.study.runs.request import Design, Inputs
from sim.study.statistics.stopping import FIRST_LOOK


@pytest.fixture
def design(monkeypatch):
    """Two policies whose runs cost a fixed sum, the second 10 more."""

    def made_up(self, unit):
        names = [policy.name for policy in self.designs[unit.design][1]]
        return [
            {"policy": names[at], "replication": unit.replication, "cost": 100.0 + 10.0 * at}
            for at in unit.policies
        ]

    monkeypatch.setattr(batch.Job, "unit", made_up)
    site = load.load(load.DEMO)
    return Design("one", site, site.policies[:2])


def settled_at(rows_wanted, seen):
    def settled(rows):
        seen.append(len(rows))
        return "Enough." if len(rows) >= rows_wanted else ""

    return settled


def test_it_ends_at_the_first_look_by_which_all_is_settled(design):
    seen = []
    found = study(design, Inputs(1, 1), 20, settled=settled_at(8, seen), looks=(2, 4, 8))
    assert seen == [4, 8]  # rows of two policies, after 2 and after 4 runs of each
    assert (found.finished, found.wanted, found.stopped_because) == (4, 20, "Enough.")
    assert len(found.rows) == 8 and sorted(set(found.rows["replication"])) == [0, 1, 2, 3]


def test_where_no_look_settles_it_all_runs_are_made(design):
    seen = []
    found = study(design, Inputs(1, 1), 6, settled=settled_at(99, seen), looks=(2, 4, 6, 8))
    assert seen == [4, 8]  # the last run is no look: the study is over
    assert (found.finished, found.stopped_because) == (6, COMPLETE)


def test_what_is_finished_is_handed_on_at_two_runs_and_then_at_each_doubling(design):
    handed = []
    study(design, Inputs(1, 1), 20, on_rows=lambda result: handed.append((result.finished, len(result.rows))))
    assert handed == [(2, 4), (4, 8), (8, 16), (16, 32)]


def test_the_whole_is_not_handed_on_as_a_part(design):
    handed = []
    study(design, Inputs(1, 1), 4, on_rows=lambda result: handed.append(result.finished))
    assert handed == [2]


def test_differences_without_spread_are_known_after_the_look_ahead(design):
    """All runs differ by 10 exactly: known at the first look, then held for five runs (Hoad et al. 2010)."""
    found = study(design, Inputs(1, 1), 200, within=1.0)
    assert found.finished == FIRST_LOOK + 5 and found.by_spread
    assert "held for 5 further runs" in found.stopped_because
