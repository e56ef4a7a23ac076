"""Some days of a run as tables: every step with what gauges and lamp showed, draws, pump runs, events."""

import numpy as np
import pandas as pd

from sim.constants import DAY_S
from sim.outcome.frames import clock, draws_frame, events_frame, pump_frame
from sim.twin.window import Window


def closeup(window: Window) -> dict[str, pd.DataFrame]:
    """Return a window as tables.

    "trace" (see `trace_frame`); "draws", "pump" and "events" as `sim.outcome.frames` gives them for the
    whole run, those that begin within the window; a pump run that has not ended has no stop.
    """
    history = window.history
    first_s, end_s = window.first_day * DAY_S, (window.first_day + window.n_days) * DAY_S
    pump = pump_frame(history)
    if not np.isnan(window.pump_on_since_s):
        since_s = window.pump_on_since_s
        still = {"time": clock(history, np.array([since_s])), "start_s": since_s}
        pump = pd.concat([pump, pd.DataFrame(still).reindex(columns=pump.columns)], ignore_index=True)
    found = {"trace": trace_frame(window)}
    for name, table, column in (
        ("draws", draws_frame(history), "start_s"),
        ("pump", pump, "start_s"),
        ("events", events_frame(history), "time_s"),
    ):
        inside = (table[column] >= first_s) & (table[column] < end_s)
        found[name] = table[inside].reset_index(drop=True)
    return found


def trace_frame(window: Window) -> pd.DataFrame:
    """Return every step of a window.

    One row a step, after a first row for the beginning: time_s (its end), time, tank_pressure_pa (then),
    flow_m3_s (mean over the step), flow_most_m3_s, draws_open, dose_j_m2 (the least of the step, nan when no
    draw takes water), uv_reading, alarm, lamp_warm, and drop_pa_ with the name of each stage (at this flow).
    """
    start = window.moments[0]
    rows = np.vstack([[start["time_s"], start["pressure_pa"], 0.0, 0.0], window.history.trace])
    end_s, pressure_pa, flow_m3_s, most_m3_s = rows.T
    begin_s = np.concatenate([end_s[:1], end_s[:-1]])
    at = np.searchsorted(window.moments["time_s"], begin_s, side="right") - 1
    moment, linear = window.moments[at], window.linear_pa_s_m3[at]
    warm = _warm(window, begin_s, moment)
    open_draws = _open(window, 0.5 * (begin_s + end_s))
    taking = (open_draws > 0) & (flow_m3_s > 0)
    dose = np.full(len(rows), np.nan)
    credited_m3_s = np.maximum(most_m3_s, moment["least_flow_m3_s"])
    dose[taking] = np.where(warm, moment["dose_flow"], 0.0)[taking] / credited_m3_s[taking]
    found = pd.DataFrame(
        {
            "time_s": end_s,
            "time": clock(window.history, end_s),
            "tank_pressure_pa": pressure_pa,
            "flow_m3_s": flow_m3_s,
            "flow_most_m3_s": most_m3_s,
            "draws_open": open_draws,
            "dose_j_m2": dose,
            "uv_reading": moment["reading"],
            "alarm": moment["alarm"].astype(bool),
            "lamp_warm": warm,
        }
    )
    for i, name in enumerate(window.history.stage_names):
        drop = flow_m3_s * (linear[:, i] + window.quadratic_pa_s2_m6[i] * flow_m3_s)
        found[f"drop_pa_{name}"] = drop
    return found


def _warm(window: Window, begin_s: np.ndarray, moment: np.ndarray) -> np.ndarray:
    """Return whether the lamp was lit and warm in the steps that begin at some times."""
    cuts, warm_up_s = window.cuts_s, window.history.scenario.uv.warm_up_s
    gone = np.searchsorted(cuts[:, 1], begin_s, side="right")  # cuts that were over
    dark = gone < np.searchsorted(cuts[:, 0], begin_s, side="right")
    over_s = np.concatenate([[-np.inf], cuts[:, 1]])[gone]
    warm_at_s = np.maximum(moment["warm_at_s"], over_s + warm_up_s)
    lit: np.ndarray = (moment["lamp_works"] > 0) & ~dark & (begin_s >= warm_at_s)
    return lit


def _open(window: Window, at_s: np.ndarray) -> np.ndarray:
    """Return how many draws were open at some times."""
    got = window.history.draws
    start_s = got["start_s"]
    stop_s = np.sort(start_s + got["seconds"])
    return np.searchsorted(start_s, at_s, side="right") - np.searchsorted(stop_s, at_s, side="right")
