"""Days that people caused, in summaries, tables and words: counted by hand from made-up rows."""

import numpy as np
import pandas as pd
import pytest

from sim.outcome.causes import DAYS as DAYS_BY
from sim.outcome.causes import EXCESS_DAYS, column
from sim.plant import cause
from sim.study.compare.comparison import compare
from sim.study.compare.comparison_tables import summary_frame
from sim.study.compare.sentences import sentences_of

RUNS = 12


def rows(policy, cost, days, people=None):
    table = pd.DataFrame(
        {
            "policy": policy,
            "replication": np.arange(RUNS),
            "years": 5.0,
            "cost": cost + np.arange(RUNS) % 3,
            "water_off_h": 3.0,
            "alarm_h": 2.0,
            "days_below_target": days,
            "least_dose_j_m2": 0.0,
        }
    )
    if people is None:
        return table
    by = {column(DAYS_BY, code): 0.0 for code in range(len(cause.CAUSES))}
    table = table.assign(**by | {column(DAYS_BY, cause.POWER_CUT): days - people})
    excess = {column(EXCESS_DAYS, cause.BYPASS_OPEN): 0.5}  # met half a day more than is to be expected
    bypass = {
        column(DAYS_BY, cause.BYPASS_OPEN): people / 2 + 0.5,
        column(DAYS_BY, cause.PUT_OFF): people / 2,
    }
    return table.assign(**bypass | excess)


DAYS = np.array([4.0, 2.0] * (RUNS // 2))  # mean 3
PEOPLE = np.array([2.0, 0.5] * (RUNS // 2))  # mean 1.25: 15 of 36 days


def test_summary_counts_what_people_caused():
    found = compare(rows("a", 100.0, DAYS, PEOPLE), "a", 5.0).summary("a")
    assert found.people_days.estimate == pytest.approx(1.25)
    assert found.people_days.low < 1.25 < found.people_days.high
    assert found.people_share.estimate == pytest.approx(15.0 / 36.0)
    assert 0.0 < found.people_share.low < 15.0 / 36.0 < found.people_share.high < 1.0


def test_rows_that_do_not_say_say_nothing():
    found = compare(rows("a", 100.0, DAYS), "a", 5.0)
    assert "people" not in " ".join(sentences_of(found, "USD"))
    assert not {"people_days", "people_share"} & set(summary_frame(found).columns)


def test_without_days_there_is_no_share():
    found = compare(rows("a", 100.0, 0.0, 0.0), "a", 5.0)
    assert np.isnan(found.summary("a").people_share.estimate)
    assert "caused by people" not in " ".join(sentences_of(found, "USD"))


def test_summary_table_has_days_and_share():
    frame = summary_frame(compare(rows("a", 100.0, DAYS, PEOPLE), "a", 5.0))
    assert frame.loc[0, "people_days"] == pytest.approx(1.25)
    assert frame.loc[0, "people_days_low"] < frame.loc[0, "people_days_high"]
