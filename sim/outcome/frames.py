"""One history as tables: draws, pump runs, days, events."""

from collections.abc import Callable, Iterable

import numpy as np
import pandas as pd

from sim.plant import state, uv
from sim.twin.history import History


def clock(history: History, seconds: np.ndarray) -> pd.DatetimeIndex:
    """Return times of the calendar.

    Parameters
    ----------
    seconds : ndarray
        Times of the run [s].
    """
    origin = np.datetime64(history.start, "ms")
    return pd.DatetimeIndex(origin + np.round(seconds * 1e3).astype("timedelta64[ms]"))


def draws_frame(history: History) -> pd.DataFrame:
    """Return every draw with what it wanted and had.

    start_s, time, use, volume_m3, wanted_m3 (nan for time-bound), seconds, flow_m3_s (mean),
    tap_pressure_min_pa, dose_min_j_m2 (nan when nothing flowed), unmet.
    """
    got = history.draws
    names = np.array([*history.use_names, "metered"], dtype=object)
    with np.errstate(invalid="ignore", divide="ignore"):
        flow = np.where(got["seconds"] > 0.0, got["got_m3"] / got["seconds"], 0.0)
    return pd.DataFrame(
        {
            "start_s": got["start_s"],
            "time": clock(history, got["start_s"]),
            "use": names[np.where(history.use < 0, len(names) - 1, history.use)],
            "volume_m3": got["got_m3"],
            "wanted_m3": np.where(np.isinf(got["volume_m3"]), np.nan, got["volume_m3"]),
            "seconds": got["seconds"],
            "flow_m3_s": flow,
            "tap_pressure_min_pa": np.where(np.isinf(got["tap_pa"]), np.nan, got["tap_pa"]),
            "dose_min_j_m2": np.where(np.isinf(got["dose_j_m2"]), np.nan, got["dose_j_m2"]),
            "unmet": got["unmet"].astype(bool),
        }
    )


def days_frame(history: History) -> pd.DataFrame:
    """Return one row a day."""
    column = {name: history.days[:, i] for i, name in enumerate(state.DAY_COLUMNS)}
    finite = {name: np.where(np.isinf(values), np.nan, values) for name, values in column.items()}
    frame = pd.DataFrame(
        {
            "day": np.arange(history.n_days),
            "date": clock(history, np.arange(history.n_days) * 86400.0),
            "rain_m": history.rain_m,
            "cistern_m3": history.cistern_m3,
            "overflow_m3": history.overflow_m3,
            "mains_m3": history.mains_m3,
            "uv_reading": history.uv_reading,
            "alarm": history.alarm_days,
            "water_c": history.water_c,
            "transmittance": [uv.transmittance_per_cm(float(a)) for a in history.absorbance_per_m],
            **finite,
        }
    )
    for i, name in enumerate(history.stage_names):
        frame[f"drop_pa_{name}"] = history.drops_pa[:, i]
    run = history.pump_runs_s
    seconds = np.bincount((run[:, 0] // 86400).astype(int), run[:, 1] - run[:, 0], minlength=history.n_days)
    frame["pump_run_s"] = seconds[: history.n_days]
    return frame


def pump_frame(history: History) -> pd.DataFrame:
    """Return every run of the pump: time, start_s, stop_s, seconds."""
    run = history.pump_runs_s
    frame = pd.DataFrame({"start_s": run[:, 0], "stop_s": run[:, 1], "seconds": run[:, 1] - run[:, 0]})
    frame.insert(0, "time", clock(history, run[:, 0]))
    return frame


def events_frame(history: History) -> pd.DataFrame:
    """Return what happened: time_s, time, kind, subject, value, unit, note, cost."""
    columns = ["time_s", "kind", "subject", "value", "unit", "note", "cost"]
    frame = pd.DataFrame(
        [[getattr(event, name) for name in columns] for event in history.events], columns=columns
    )
    frame.insert(1, "time", clock(history, frame["time_s"].to_numpy(dtype=float)))
    return frame


def steps_frame(history: History) -> pd.DataFrame:
    """Return every step that was kept: time_s, tank_pressure_pa, flow_m3_s, flow_most_m3_s."""
    return pd.DataFrame(history.trace, columns=["time_s", "tank_pressure_pa", "flow_m3_s", "flow_most_m3_s"])


FRAMES: dict[str, Callable[[History], pd.DataFrame]] = {
    "draws": draws_frame, "pump": pump_frame, "days": days_frame, "events": events_frame,
}  # fmt: skip


def frames(history: History, names: Iterable[str] = tuple(FRAMES)) -> dict[str, pd.DataFrame]:
    """Return one history as tables, all of `FRAMES` or some; "trace" too, where one was kept."""
    found = {name: FRAMES[name](history) for name in names}
    if len(history.trace):
        found["trace"] = steps_frame(history)
    return found
