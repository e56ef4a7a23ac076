"""What is said of one policy over its runs, worked out by hand."""

import math

import numpy as np
import pandas as pd
import pytest

from sim.study.compare.comparison import compare
from sim.study.compare.comparison_tables import summary_frame

ROWS = {
    "policy": "a",
    "replication": [0, 1, 2, 3],
    "years": 2.0,
    "cost": [100.0, 200.0, 300.0, 1000.0],
    "water_off_h": [1.0, 2.0, 3.0, 4.0],
    "alarm_h": [10.0, 20.0, 30.0, 40.0],
    "days_below_target": [0.0, 0.5, 1.0, 1.5],
    "least_dose_j_m2": [400.0, 90.0, 300.0, 200.0],
    "low_light_h": [0.0, 1.0, 2.0, 5.0],
    "low_pressure_min": [0.0, 60.0, 120.0, 300.0],
    "unmet_m3": [0.0, 0.1, 0.2, 0.1],
    "pump_failures": [0.0, 0.0, 0.5, 0.5],
    "pump_water_off_h": [0.0, 0.0, 4.0, 8.0],
    "over_uv_share": [0.01, 0.02, 0.03, 0.02],
}


def summary(**more):
    return compare(pd.DataFrame(ROWS | more), "a", 5.0).summary("a")


def test_means_medians_and_the_worst_of_all_runs():
    found = summary()
    assert found.runs == 4
    assert found.cost.estimate == 400.0
    assert (found.cost_median, found.cost_p90) == (250.0, pytest.approx(300.0 + 0.7 * 700.0))
    assert found.alarm_h.estimate == 25.0
    assert found.days_below_target.estimate == pytest.approx(0.75)
    assert found.days_median == pytest.approx(0.75)
    assert found.runs_with_days == 3
    assert found.share_with_days.estimate == pytest.approx(0.75)
    assert found.least_dose_j_m2 == 90.0
    assert (found.low_light_h, found.weak_taps_h) == (2.0, 2.0)  # 0, 60, 120 and 300 minutes: two hours
    assert found.not_had_m3 == pytest.approx(0.1)
    assert (found.pump_failures_per_year, found.pump_water_off_h) == (0.25, 3.0)
    assert found.over_uv_share == pytest.approx(0.02)


def test_what_rows_do_not_have_is_not_known():
    rows = pd.DataFrame({name: values for name, values in ROWS.items() if name != "low_light_h"})
    assert math.isnan(compare(rows, "a", 5.0).summary("a").low_light_h)
    assert summary().unusable_from_month is None


@pytest.mark.parametrize(
    ("days", "month"),
    [
        ([0.0, 0.0, 0.0, 0.0], 1.0),
        ([30.0, 30.0, 30.0, 30.0], 1.0),  # a month is 30.4 days
        ([31.0, 31.0, 31.0, 31.0], 2.0),
        ([10.0, 60.0, 62.0, np.nan], 3.0),  # the middle of the runs, never coming last
        ([10.0, np.nan, np.nan, np.nan], None),
        ([1000.0, 10.0, 10.0, 10.0], 1.0),
    ],
)
def test_the_month_from_which_a_house_is_out_of_use_is_that_of_the_middle_run(days, month):
    assert summary(unusable_from_day=days).unusable_from_month == month


def test_a_summary_as_a_table_has_the_same_numbers():
    found = compare(pd.DataFrame(ROWS), "a", 5.0)
    (row,) = summary_frame(found).to_dict("records")
    assert row["policy"] == "a" and row["runs"] == 4
    assert row["weak_taps_h"] == 2.0 and row["not_had_m3"] == pytest.approx(0.1)
    assert row["low_light_h"] == 2.0 and row["cost_median"] == 250.0
