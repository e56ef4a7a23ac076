"""What was read on different days, side by side: a column a reading, a row a day."""

from collections.abc import Iterator

import numpy as np
import pandas as pd

from sim.drill.log import Log
from sim.drill.sight import Seen
from sim.study.wording import number, percent
from sim.units import Units, text

DAY = "day"
PUMP = {"low": "pump starts at", "high": "pump stops at"}
ONE_NUMBER = {"seconds": ("bucket", "s"), "hours": ("lamp hours", "h"), "run": ("pump runs", "s")}


def beside(notes: tuple[Seen, ...], starts: int, log: Log, units: Units) -> pd.DataFrame:
    """Return what was looked at, the day of taking over first; a blank is what was not looked at then.

    Returns
    -------
    pandas.DataFrame
        Texts with units, by day; of several looks on a day the last.
    """
    rows: dict[int, dict[str, str]] = {}
    for day, seen in [*((starts, one) for one in notes), *log.looks]:
        rows.setdefault(day, {}).update(_cells(seen, units))
    for day, cells in rows.items():
        read = log.displays.get(day, np.nan)
        cells["UV display"] = "" if np.isnan(read) else percent(read)
    found = pd.DataFrame([{DAY: f"{day}", **cells} for day, cells in sorted(rows.items())]).fillna("")
    return found[[DAY, "UV display", *(name for name in found.columns if name not in (DAY, "UV display"))]]


def _cells(seen: Seen, units: Units) -> Iterator[tuple[str, str]]:
    if seen.what == "gauges":
        yield from (
            (f"drop over {name}", text(drop, "pressure", units)) for name, drop in seen.values.items()
        )
    elif seen.what == "cistern stick":
        yield "water in the cistern", text(seen.values["depth"], "length", units)
    elif seen.what == "glass":
        yield "water in a glass", seen.words[0].partition(": ")[2]
    elif seen.what in ("pump", "bucket", "lamp hours"):
        for name, value in seen.values.items():
            if name in PUMP:
                yield PUMP[name], text(value, "pressure", units)
            elif name in ONE_NUMBER:
                label, unit = ONE_NUMBER[name]
                comes = 0.0 < value < np.inf
                yield label, f"{number(value)} {unit}" if comes else "nothing comes"
