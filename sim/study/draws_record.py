"""What metered draws are good for: those that leave days of the run without any are refused, or repeated."""

from typing import Any

import numpy as np
import numpy.typing as npt

from sim.constants import DAY_S
from sim.errors import InputError
from sim.study.wording import percent
from sim.twin.common import MOST_DRAWS

LEAST_SHARE = 0.9  # of the days of a run; our choice
LONGEST_GAP_DAYS = 30  # between two draws, in which nobody is taken to be at home; our choice
REPEAT = "--draws-repeat"
Floats = npt.NDArray[np.float64]


def days_covered(start_s: Floats, n_days: int) -> int:
    """Return how many days of a run lie between draws, without longer gaps.

    Examples
    --------
    Draws on days 0, 2 and 40: the 37 days between the last two are too many for a journey.

    >>> days_covered(np.array([0.0, 2.0, 40.0]) * 86400.0, 100)
    4
    """
    days = np.unique(start_s // DAY_S)
    days = days[(days >= 0) & (days < n_days)]
    steps = np.diff(days)
    steps[steps - 1 > LONGEST_GAP_DAYS] = 1
    return int(steps.sum()) + 1 if days.size else 0


def check_cover(told: dict[str, Any], n_days: int) -> None:
    """Refuse draws that leave more than a tenth of a run without any.

    Parameters
    ----------
    told : dict
        What is told of them, see `told_of`.
    n_days : int
        Days of the run.
    """
    if told["days_covered"] < LEAST_SHARE * n_days:
        held = (
            f"{told['first']} to {told['last']} covers {told['days_covered']:,} of {n_days:,} days of the run"
        )
        raise InputError(
            f"{told['file']}: {held}; wanted {percent(LEAST_SHARE)} or more: fewer --years, another start of "
            f"the site, or {REPEAT} to take them over and over"
        )


def repeated(draws: dict[str, Any], n_days: int) -> dict[str, Any]:
    """Return draws over and over, before and after; by whole weeks, so that days of the week stay.

    Refused when they come to more draws than a run may have.
    """
    start_s: Floats = draws["start_s"]
    first = int(start_s.min() // DAY_S)
    length = int(start_s.max() // DAY_S) - first + 1
    period = length // 7 * 7 if length >= 7 else length
    turns = np.arange(-(first // period) - 1, (n_days - first) // period + 1)
    if turns.size * start_s.size > MOST_DRAWS:
        raise InputError(
            f"{REPEAT}: comes to over {MOST_DRAWS / 1e6:.0f} million draws; wanted fewer --years"
        )
    all_s = (start_s + period * DAY_S * turns[:, None]).ravel()
    kept = np.tile(start_s < (first + period) * DAY_S, turns.size) & (all_s >= 0) & (all_s < n_days * DAY_S)
    found = {
        name: np.tile(values, turns.size)[kept] if np.ndim(values) else values
        for name, values in draws.items()
    }
    return found | {"start_s": all_s[kept]}


def said(told: dict[str, Any] | None) -> list[str]:
    """Return what an answer says of the metered draws it rests on, in sentences; none without any."""
    if told is None:
        return []
    where = f"Draws are those of {told['file']}, {told['first']} to {told['last']}"
    if not told["repeated"]:
        return [f"{where}."]
    return [f"{where}, {told['days']:,} days taken over and over: no other season or year is in them."]
