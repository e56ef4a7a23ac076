"""What was read on different days, side by side: a column a reading, a row a day."""

from collections.abc import Iterator

import numpy as np
import pandas as pd

from sim.drill.play import Play
from sim.drill.sight import Seen
from sim.study.wording import number, percent
from sim.units import Units, text

DAY, DISPLAY = "day", "UV display"
PUMP = {"low": "pump starts at", "high": "pump stops at"}
ONE_NUMBER = {"seconds": ("bucket", "s"), "hours": ("lamp hours", "h"), "run": ("pump runs", "s")}


def beside(play: Play) -> pd.DataFrame:
    """Return what was looked at, the day of taking over first; a blank is what was not looked at then.

    Returns
    -------
    pandas.DataFrame
        Texts in the units of the case, by day; of several looks on a day the last.
    """
    rows: dict[int, dict[str, str]] = {}
    for day, seen in [*((play.starts, one) for one in play.notes), *play.log.looks]:
        rows.setdefault(day, {}).update(_cells(seen, play.units))
    for day, cells in rows.items():
        read = play.log.displays.get(day, np.nan)
        cells[DISPLAY] = "" if np.isnan(read) else percent(read)
    found = pd.DataFrame([{DAY: f"{day}", **cells} for day, cells in sorted(rows.items())]).fillna("")
    return found[[DAY, DISPLAY, *(name for name in found.columns if name not in (DAY, DISPLAY))]]


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
