"""What a skip came to over many runs, from a table of rows made by hand; bounds by scipy."""

from datetime import date

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from sim.errors import InputError
from sim.scenario.read import load
from sim.study.skip.skipping import CONFIDENCE, ends, labels, moment_s, skipping

RUNS = 8
DAY = 86400.0
# A row a run: days seen, days by known chances, cost, hours off, minutes weak, days unusable.
KEPT = np.array([[2.0, 2.5, 900.0 + n, 10.0, 60.0, n % 2] for n in range(RUNS)])
GAP = np.array([[n % 3, n % 3 + 0.25, 7.0 * n, -1.0 - n, 30.0 * n, n % 2] for n in range(RUNS)])
NAMES = ["days_below_target", "days_expected", "cost", "water_off_h", "low_pressure_min", "unusable_days"]


@pytest.fixture
def rows():
    """Both ways, and a third that is not asked about; their runs in no order."""
    made = []
    for name, values in (("kept", KEPT), ("skipped", KEPT + GAP), ("other", 9.0 * KEPT)):
        made.append(pd.DataFrame(values, columns=NAMES).assign(policy=name, replication=range(RUNS)))
    return pd.concat(made).sample(frac=1.0, random_state=3)


def test_each_run_is_held_against_the_same_run_with_the_work_done(rows):
    found = ends(rows, "kept", "skipped")
    assert found.runs == RUNS
    gap = dict(zip(NAMES, GAP.T, strict=True))
    assert found.days.estimate == pytest.approx(gap["days_expected"].mean())
    cost = stats.ttest_1samp(gap["cost"], 0.0).confidence_interval(CONFIDENCE)
    assert (found.cost.estimate, found.cost.low, found.cost.high) == pytest.approx((24.5, *cost))
    assert found.off_h.estimate == pytest.approx(gap["water_off_h"].mean()) and found.off_h.high < 0.0
    assert found.weak_h.estimate == pytest.approx(gap["low_pressure_min"].mean() / 60.0)
    more = int((gap["days_below_target"] > 0.0).sum())  # 1, 2, 4, 5 and 7 have more
    exact = stats.binomtest(more, RUNS).proportion_ci(CONFIDENCE, method="exact")
    assert (found.worse.estimate, found.worse.low, found.worse.high) == pytest.approx((5 / 8, *exact))


def test_days_on_which_the_house_is_of_no_use_are_those_of_the_skip_alone(rows):
    found = ends(rows, "kept", "skipped")
    dry = KEPT[:, 5] + GAP[:, 5]
    bounds = stats.ttest_1samp(dry, 0.0).confidence_interval(CONFIDENCE)
    assert found.unusable.estimate == pytest.approx(dry.mean())
    assert found.unusable.high == pytest.approx(bounds.high)
    assert found.unusable_runs == int((GAP[:, 5] > 0.0).sum()) == 4
    assert ends(rows, "kept", "kept").unusable_runs == 0


def test_days_as_seen_stand_in_where_the_rows_say_no_chances(rows):
    found = ends(rows.drop(columns="days_expected"), "kept", "skipped")
    assert found.days.estimate == pytest.approx(GAP[:, 0].mean())


START = date(2027, 2, 15)


@pytest.mark.parametrize(
    ("words", "days"),
    [
        ("month 1", 0),  # the month the run begins in
        ("month 2", 14),
        (" month 12 ", 320),
        ("2027-02-15", 0),
        ("2027-03-01", 14),
        ("90 d", 90),
        ("2 wk", 14),
    ],
)
def test_when_a_skip_begins_is_said_in_three_ways(words, days):
    assert moment_s(words, START, 1, "--from") == days * DAY


@pytest.mark.parametrize(
    "words", ["month 0", "month 14", "2027-02-14", "2028-02-16", "366 d", "month two", "-1 d", ""]
)
def test_a_time_outside_the_run_is_refused_by_its_name(words):
    with pytest.raises(InputError, match=r"^--from is "):
        moment_s(words, START, 1, "--from")


def test_a_skip_names_its_tasks_once_and_for_one_stage_alone():
    policy = next(one for one in load.load(load.DEMO).policies if one.name == "by the calendar")
    known = labels(policy)
    assert known[-1] == "everything" and "change cartridge" in known and "change cartridge: carbon" in known
    assert len(known) == len(set(known))
    found = skipping(policy, ["wipe sleeve", "change cartridge: carbon", "wipe sleeve"], 30 * DAY, 60 * DAY)
    assert found.name == "by the calendar, skipped"
    assert [(one.task, one.stage, one.from_s, one.until_s) for one in found.skips] == [
        ("wipe sleeve", None, 30 * DAY, 60 * DAY), ("change cartridge", "carbon", 30 * DAY, 60 * DAY),
    ]  # fmt: skip
    assert found.skipped("wipe sleeve", None, 30 * DAY) and found.skipped("wipe sleeve", None, 60 * DAY - 1.0)
    assert not found.skipped("wipe sleeve", None, 30 * DAY - 1.0) and not found.skipped(
        "wipe sleeve", None, 60 * DAY
    )
    with pytest.raises(InputError, match="is not after --from"):
        skipping(policy, ["wipe sleeve"], 30 * DAY, 30 * DAY)
