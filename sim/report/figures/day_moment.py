"""What gauges, stages and lamp showed at one time of a day: a row of a trace, read off at that time."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

DAY_S = 86400.0


@dataclass(frozen=True)
class Moment:
    """One time of a run."""

    at_s: float  # time of the run [s]
    pressure_pa: float  # gauge pressure in the tank [Pa]
    flow_m3_s: float  # flow through the train [m3/s]
    drops_pa: dict[str, float]  # drop over each stage at this flow [Pa]
    uv_reading: float  # of new and clean [fraction]
    dose_j_m2: float  # dose at this flow [J/m2]; nan when no draw takes water
    alarm: bool  # whether the alarm was on, the lamp lit and warm, the pump running
    lamp_warm: bool
    pump_on: bool
    uses: tuple[str, ...]  # what water was drawn for


def moment(tables: dict[str, pd.DataFrame], at_s: float) -> Moment:
    """Return what stood at one time."""
    trace, pump, draws = tables["trace"], tables["pump"], tables["draws"]
    ends = trace["time_s"].to_numpy()
    step = trace.iloc[min(int(np.searchsorted(ends, at_s, side="left")), len(trace) - 1)]
    running = (pump["start_s"] <= at_s) & ~(pump["stop_s"] <= at_s)  # a run that has not ended has no stop
    taking = (draws["start_s"] <= at_s) & (draws["start_s"] + draws["seconds"] > at_s)
    return Moment(
        at_s,
        float(np.interp(at_s, ends, trace["tank_pressure_pa"].to_numpy())),
        float(step["flow_m3_s"]),
        {str(name)[8:]: float(step[name]) for name in trace.columns if str(name).startswith("drop_pa_")},
        float(step["uv_reading"]),
        float(step["dose_j_m2"]),
        bool(step["alarm"]),
        bool(step["lamp_warm"]),
        bool(running.any()),
        tuple(dict.fromkeys(str(use) for use in draws.loc[taking, "use"])),
    )


def of_day(tables: dict[str, pd.DataFrame], day: int) -> dict[str, pd.DataFrame]:
    """Return what belongs to one day of a window.

    The same tables; the trace with the step that ends as the day begins, pump runs and draws with those that
    reach into the day.
    """
    first_s, end_s = day * DAY_S, (day + 1) * DAY_S
    trace, pump, draws, events = (tables[name] for name in ("trace", "pump", "draws", "events"))
    return {
        "trace": trace[(trace["time_s"] >= first_s) & (trace["time_s"] <= end_s)],
        "pump": pump[(pump["start_s"] < end_s) & ~(pump["stop_s"] <= first_s)],
        "draws": draws[(draws["start_s"] < end_s) & (draws["start_s"] + draws["seconds"] >= first_s)],
        "events": events[(events["time_s"] >= first_s) & (events["time_s"] < end_s)],
    }
