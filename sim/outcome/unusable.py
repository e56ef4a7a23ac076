"""When a house cannot be used for want of water: its taps give nothing, day after day."""

import numpy as np
import numpy.typing as npt

from sim.plant import state
from sim.twin.history import History

DRY_S = 23 * 3600.0  # of a day without water: none that is of use was left [A]
DRY_DAYS = 7  # in a row: nobody waits longer for water, they leave [A]


def dry_days(history: History) -> npt.NDArray[np.bool_]:
    """Return on which days the taps gave nothing for 23 hours or more."""
    dry: npt.NDArray[np.bool_] = history.days[:, state.WATER_OFF] >= DRY_S
    return dry


def unusable_days(history: History) -> npt.NDArray[np.bool_]:
    """Return the dry days that stand among seven or more in a row."""
    dry = dry_days(history)
    found = np.zeros(dry.size, dtype=bool)
    edges = np.flatnonzero(np.diff(np.concatenate(([0], dry.astype(np.int8), [0]))))
    for begin, end in edges.reshape(-1, 2):
        found[begin:end] = end - begin >= DRY_DAYS
    return found


def unusable_from_day(unusable: npt.NDArray[np.bool_]) -> float:
    """Return the first of the unusable days, counted from 0; nan when there is none."""
    days = np.flatnonzero(unusable)
    return float(days[0]) if days.size else float("nan")
