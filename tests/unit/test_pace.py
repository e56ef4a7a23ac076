"""How much is handed out at once, and what one run leaves for the next, counted by hand."""

import gc
from collections import deque
from types import SimpleNamespace

import numpy as np
import pytest

from sim.study.runs import batch
from sim.study.runs.batch import MOST_KEPT_YEARS, Job, Unit, columns, run_batch
from sim.study.runs.pace import Pace


def units(count, policies=2):
    return deque(Unit(0, tuple(range(policies)), k) for k in range(count))


def test_nothing_measured_hands_out_one_unit():
    left = units(5)
    assert Pace(3).cut(left, 2) == (Unit(0, (0, 1), 0),) and len(left) == 4


@pytest.mark.parametrize(
    ("year_s", "count", "places", "taken"),
    [
        (0.05, 1000, 2, 10),  # 4 household-years a unit, 0.2 s: 2 s of them
        (
            0.05,
            9,
            2,
            2,
        ),  # a quarter of what is left behind the first, 8 x 0.2 s / 4: 0.4 s, but half a second at least
        (0.05, 21, 2, 5),  # 20 x 0.2 s / 4 = 1 s
        (0.05, 21, 4, 2),  # shared among four
        (1.0, 1000, 2, 1),  # a unit takes longer than is wanted
        (1e-6, 3, 2, 3),  # no more than there is
    ],
)
def test_a_batch_takes_two_seconds_and_less_where_little_is_left(year_s, count, places, taken):
    pace, left = Pace(2), units(count)
    pace.note((Unit(0, (0, 1), 0),), 4.0 * year_s)
    found = pace.cut(left, places)
    assert len(found) == taken and len(left) == count - taken
    assert [one.replication for one in found] == list(range(taken))  # in their order


def test_the_latest_batch_counts_for_half():
    pace = Pace(1)
    one = (Unit(0, (0,), 0),)
    pace.note(one, 8.0)  # it loaded code
    pace.note(one, 0.0)
    pace.note(one, 0.0)  # 8, 4, 2 s a year
    left = units(100, policies=1)
    assert len(pace.cut(left, 1)) == 1
    pace.note(one, 0.0)  # 1 s
    assert len(pace.cut(left, 1)) == 2
    assert pace.weigh(units(3, policies=5)) == 15 and Pace(4).weigh(units(3)) == 24


@pytest.fixture
def made(monkeypatch):
    """Common inputs as they are made, in the order of their making; rows say which policy met which."""
    asked = []

    def common_of(basis, replication, seed, years, rain, draws):
        asked.append((basis, replication, seed))
        return (basis, replication, seed)

    monkeypatch.setattr(batch, "common_of", common_of)
    monkeypatch.setattr(
        batch, "gc", SimpleNamespace(**{**vars(gc), "collect": int})
    )  # all that tests hold is much
    monkeypatch.setattr(batch, "basis_of", lambda scenario: scenario.basis)
    monkeypatch.setattr(batch, "outside", lambda scenario, draws=None: (f"of {scenario.name}",))
    monkeypatch.setattr(batch.twin, "run", lambda scenario, policy, common: (scenario.name, policy, common))
    monkeypatch.setattr(
        batch.measures, "row", lambda history, draws, beyond: {"seen": history, "beyond": beyond}
    )
    return asked


def site(name, basis):
    return SimpleNamespace(name=name, basis=basis)


def test_designs_alike_in_weather_and_draws_share_them(made):
    designs = [
        (site("a", "wet"), ("p", "q"), 7),
        (site("b", "wet"), ("p",), 7),
        (site("c", "dry"), ("p",), 7),
    ]
    job = Job(designs, 2, None, None)
    rows = [
        row for unit in (Unit(0, (0, 1), 5), Unit(1, (0,), 5), Unit(2, (0,), 5)) for row in job.unit(unit)
    ]
    assert made == [("wet", 5, 7), ("dry", 5, 7)]
    assert [row["seen"][:2] for row in rows] == [("a", "p"), ("a", "q"), ("b", "p"), ("c", "p")]
    assert rows[2]["seen"][2] == ("wet", 5, 7) and rows[2]["beyond"] == ("of b",)


def test_another_replication_or_root_of_chance_is_made_anew_and_forgets_the_last(made):
    designs = [(site("a", "wet"), ("p",), 7), (site("a", "wet"), ("p",), 8)]
    job = Job(designs, 2, None, None)
    for unit in (Unit(0, (0,), 5), Unit(0, (0,), 6), Unit(0, (0,), 5), Unit(1, (0,), 5), Unit(1, (0,), 5)):
        job.unit(unit)
    assert made == [("wet", 5, 7), ("wet", 6, 7), ("wet", 5, 7), ("wet", 5, 8)]
    assert len(job.kept.commons) == 1


@pytest.mark.parametrize(("years", "kept"), [(6, 4), (MOST_KEPT_YEARS, 1), (50, 1), (1, 24)])
def test_so_many_years_of_inputs_are_kept_and_no_more(made, years, kept):
    designs = [(site(f"{k}", f"basis {k}"), ("p",), 7) for k in range(30)]
    job = Job(designs, years, None, None)
    for k in range(30):
        job.unit(Unit(k, (0,), 0))
    assert [one[0] for one in job.kept.commons] == [f"basis {k}" for k in range(30 - kept, 30)]
    job.unit(Unit(30 - kept, (0,), 0))
    assert len(made) == 30


def test_what_a_run_leaves_is_not_looked_through_after_the_next(made, monkeypatch):
    loaded, seen = [], []

    def run(*_of):
        seen.append(gc.get_freeze_count())
        loaded.append([[] for _ in range(1000)])

    monkeypatch.setattr(batch.twin, "run", run)
    monkeypatch.setattr(batch.measures, "row", lambda *_of: {"n": 1})
    run_batch(Job([(site("a", "wet"), ("p", "q"), 7)], 1, None, None), (Unit(0, (0, 1), 0),))
    assert seen[1] >= seen[0] + 1000


def test_a_batch_leaves_the_collector_as_it_was_also_where_it_fails(made, monkeypatch):
    job = Job([(site("a", "wet"), ("p", "q"), 7)], 1, None, None)
    seen = []
    monkeypatch.setattr(batch.twin, "run", lambda *_of: seen.append(gc.isenabled()))
    monkeypatch.setattr(batch.measures, "row", lambda *_of: {"n": 1})
    done = run_batch(job, (Unit(0, (0, 1), 0),))
    assert seen == [False, False] and gc.isenabled() and done.took_s > 0.0
    assert done.columns["n"].tolist() == [1, 1]
    monkeypatch.setattr(batch.twin, "run", lambda *_of: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        run_batch(job, (Unit(0, (0,), 0),))
    assert gc.isenabled() and gc.get_freeze_count() == 0
    gc.disable()
    try:
        monkeypatch.setattr(batch.twin, "run", lambda *_of: None)
        run_batch(job, (Unit(0, (0,), 0),))
        assert not gc.isenabled()
    finally:
        gc.enable()


def test_rows_become_columns_of_numbers_and_of_words():
    found = columns([{"name": "a", "cost": 1.5, "runs": 2}, {"name": "b", "cost": 2.5, "runs": 3}])
    assert found["name"] == ["a", "b"] and isinstance(found["cost"], np.ndarray)
    assert found["cost"].tolist() == [1.5, 2.5] and found["runs"].tolist() == [2, 3]
