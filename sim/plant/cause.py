"""Why water came under the dose target, why the alarm sounded, why no water came: one cause for each share.

Causes are booked by the loop as it goes, so that they add up by construction. Where two stand at once the one
that nobody could have helped comes first; of two with equal shares of a day the lower code.
"""

import numpy as np

CAUSES = (
    "power cut",
    "lamp died",
    "service",
    "unplugged unit",
    "forgotten valve",
    "open bypass",
    "other missed step",
    "put off or late",
    "film",
    "lamp age",
    "coloured or dirty water",
    "flow above rating",
    "cistern empty",
    "clogged",
    "pump broken",
    "other",
)
(
    POWER_CUT,
    LAMP_DIED,
    SERVICE,
    UNPLUGGED,
    VALVE_SHUT,
    BYPASS_OPEN,
    OTHER_SLIP,
    PUT_OFF,
    FILM,
    LAMP_AGE,
    WATER,
    FLOW,
    CISTERN_EMPTY,
    CLOGGED,
    PUMP_BROKEN,
    OTHER,
) = range(len(CAUSES))
NONE = -1

MEASURES = ("below_target_m3", "alarm_s", "water_off_s")
LITRES, ALARM, OFF = range(len(MEASURES))


def new_causes(n_days: int) -> np.ndarray:
    """Return the empty table of causes.

    Parameters
    ----------
    n_days : int
        Days of the run, above 0.

    Returns
    -------
    ndarray
        Zeros, shape (n_days, len(CAUSES), len(MEASURES)).
    """
    return np.zeros((n_days, len(CAUSES), len(MEASURES)))
