"""Days, alarm hours and water-off hours of a run by their cause, each with one cause."""

import numpy as np
import numpy.typing as npt

from sim.outcome.drawn import Drawn
from sim.outcome.expected import excess_days
from sim.plant import cause
from sim.plant.cause import CAUSES
from sim.twin.history import History

SLUGS = tuple(name.replace(" ", "_") for name in CAUSES)
DAYS, ALARM_H, OFF_H = "days_by", "alarm_h_by", "water_off_h_by"  # beginnings of the names of columns
EXCESS_DAYS = "excess_days_by"
PEOPLE = (cause.UNPLUGGED, cause.VALVE_SHUT, cause.BYPASS_OPEN, cause.OTHER_SLIP, cause.PUT_OFF)


def column(measure: str, code: int) -> str:
    """Return the name of the column of a cause in a row.

    Examples
    --------
    >>> column(DAYS, cause.POWER_CUT)
    'days_by_power_cut'
    """
    return f"{measure}_{SLUGS[code]}"


def cause_of_days(history: History) -> npt.NDArray[np.int64]:
    """Return the cause of each day below the dose target.

    Returns
    -------
    ndarray of int
        Code of the cause with most litres of the day, the lower of two with as many; -1 for other days.
    """
    litres = history.causes[:, :, cause.LITRES]
    most: npt.NDArray[np.int64] = np.argmax(litres, axis=1)
    below = litres.sum(axis=1) > history.scenario.goals.below_target_volume_m3
    return np.where(below, most, cause.NONE)


def cause_of_alarms(history: History) -> npt.NDArray[np.int64]:
    """Return the cause of the alarm on each day, as `cause_of_days` does for the dose."""
    seconds = history.causes[:, :, cause.ALARM]
    most: npt.NDArray[np.int64] = np.argmax(seconds, axis=1)
    return np.where(seconds.sum(axis=1) > 0.0, most, cause.NONE)


def days_of_two_causes(history: History) -> int:
    """Return the number of days on which two causes each passed what makes a day count."""
    least = history.scenario.goals.below_target_volume_m3
    return int((np.count_nonzero(history.causes[:, :, cause.LITRES] > least, axis=1) > 1).sum())


def by_cause(history: History, years: float) -> dict[str, float]:
    """Return days below target, alarm hours and water-off hours a year, a column a cause."""
    days = np.bincount(cause_of_days(history) + 1, minlength=len(CAUSES) + 1)[1:]
    hours = history.causes.sum(axis=0) / 3600.0
    found = {column(DAYS, code): float(days[code]) / years for code in range(len(CAUSES))}
    for name, measure in ((ALARM_H, cause.ALARM), (OFF_H, cause.OFF)):
        found |= {column(name, code): float(hours[code, measure]) / years for code in range(len(CAUSES))}
    return found


def excess_by_cause(history: History, draws: Drawn, years: float) -> dict[str, float]:
    """Return days a year of each cause whose chance is known, above those that were to be expected."""
    return {column(EXCESS_DAYS, code): days / years for code, days in excess_days(history, draws).items()}


def people_days(history: History) -> float:
    """Return the days below the dose target that people caused."""
    return float(np.isin(cause_of_days(history), PEOPLE).sum())
