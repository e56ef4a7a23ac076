"""One history as tables, by hand."""

import math
from datetime import date, datetime

import numpy as np
import pytest

from sim.outcome.frames import draws_frame, frames
from sim.plant import draws
from sim.twin.records import Event

DAY = 86400.0
RUNS_S = ((10.0, 70.0), (DAY - 0.5, DAY + 29.5), (2 * DAY, 2 * DAY + 5.0))


@pytest.fixture
def history(tiny, blank_history):
    """Three draws, of which one was metered and one had nothing; three runs of the pump on three days."""
    got = np.zeros(3, draws.DRAW)
    got["start_s"] = 0.5, 90.0, DAY + 60.0
    got["volume_m3"] = 0.01, np.inf, 0.02
    got["got_m3"] = 0.01, 0.003, 0.0
    got["seconds"] = 50.0, 0.5, 0.0
    got["tap_pa"] = 2e5, 1.5e5, np.inf
    got["dose_j_m2"] = 400.0, 380.0, np.inf
    got["unmet"] = 0, 0, 1
    return blank_history(
        tiny(), 3, start=date(2024, 2, 28), draws=got, use=np.array([-1, 0, 1], np.int16),
        use_names=("shower", "tap"), pump_runs_s=np.array(RUNS_S),
        events=(Event(DAY + 1.0, "task", "wipe sleeve", value=2.0, unit="h", note="late", cost=12.0),),
        trace=np.array([[1.0, 3e5, 2e-4, 4e-4]]),
    )  # fmt: skip


def test_draws(history):
    found = draws_frame(history)
    assert list(found["use"]) == ["metered", "shower", "tap"]
    assert list(found["flow_m3_s"]) == pytest.approx([0.01 / 50.0, 0.003 / 0.5, 0.0])
    assert list(found["wanted_m3"])[::2] == [0.01, 0.02] and math.isnan(found["wanted_m3"][1])
    assert list(found["volume_m3"]) == [0.01, 0.003, 0.0]
    assert found["time"][0] == datetime(2024, 2, 28, 0, 0, 0, 500_000)
    assert found["time"][2] == datetime(2024, 2, 29, 0, 1)  # a leap day
    for name, had in (("tap_pressure_min_pa", [2e5, 1.5e5]), ("dose_min_j_m2", [400.0, 380.0])):
        assert list(found[name])[:2] == had and math.isnan(found[name][2])
    assert list(found["unmet"]) == [False, False, True]


def test_pump_days_events_and_trace(history):
    found = frames(history)
    assert list(found["pump"].columns) == ["time", "start_s", "stop_s", "seconds"]
    assert found["pump"].iloc[1].tolist()[1:] == [DAY - 0.5, DAY + 29.5, 30.0]
    assert found["pump"]["time"][0] == datetime(2024, 2, 28, 0, 0, 10)
    days = found["days"]
    assert list(days["day"]) == [0, 1, 2]
    assert [f"{one:%Y-%m-%d}" for one in days["date"]] == ["2024-02-28", "2024-02-29", "2024-03-01"]
    assert list(days["pump_run_s"]) == [90.0, 0.0, 5.0]  # a run counts with the day on which it began
    assert [name for name in days if name.startswith("drop_pa_")] == [
        f"drop_pa_{stage.name}" for stage in history.scenario.stages
    ]
    assert not np.isinf(days.select_dtypes("number").to_numpy()).any()
    assert list(found["events"].columns)[:3] == ["time_s", "time", "kind"]
    (event,) = found["events"].to_dict("records")
    assert event == {
        "time_s": DAY + 1.0, "time": datetime(2024, 2, 29, 0, 0, 1), "kind": "task", "subject": "wipe sleeve",
        "value": 2.0, "unit": "h", "note": "late", "cost": 12.0,
    }  # fmt: skip
    assert found["trace"].iloc[0].tolist() == [1.0, 3e5, 2e-4, 4e-4]


def test_without_a_close_look_there_is_no_trace(tiny, blank_history):
    found = frames(blank_history(tiny(), 2))
    assert set(found) == {"draws", "pump", "days", "events"}
    assert found["events"].empty and found["draws"].empty
