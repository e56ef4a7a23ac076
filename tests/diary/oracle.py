"""How near can a date be told at all? By who knows house, law and load as they stand, and not what comes.

The house itself is run on with weather and draws of other chances. Against it stands what a gauge shows: how
far the drop has risen by the last reading, in its scatter.
"""

import numpy as np

from sim.diary import outlook
from tests.diary import planted, trial

FUTURES = 12


def fair_crps(members, truth):
    """Return the CRPS of a small ensemble without the part that is due to its size alone.

    Ferro 2014, Q. J. R. Meteorol. Soc. 140:1917 (from memory): the spread over pairs of unlike members.
    """
    x = np.asarray(members, dtype=float)
    pairs = np.abs(x[:, None] - x[None, :]).sum() / (x.size * (x.size - 1))
    return float(np.abs(x - truth).mean() - 0.5 * pairs)


def moments(house, scenario, parts, number, life):
    """Return the day of a share of a life, the limit and the days to it; None where it does not come."""
    left, part = int(np.ceil(house.left_day)), parts.stages[number]
    limit = outlook.drop_limit_pa(scenario, part)
    came = planted.event_day(house.drops_pa[:, number], lambda x: x > limit, left)
    if came is None or came - left < 20:
        return None
    now = left + life * (came - left)
    end = trial.other_stops(house, parts, scenario, "stage", number, left)
    known = now < house.light.size - outlook.HORIZON_DAYS and came < end
    return (now, limit, min(came - now, outlook.HORIZON_DAYS)) if known else None


def oracle_crps(house, number, now, limit, days, years=5):
    """Return the CRPS of who knows all but what comes [d]."""
    found = []
    for future in planted.futures(house, now, FUTURES, years):
        came = planted.event_day(future.drops_pa[:, number], lambda x: x > limit, int(now))
        found.append(outlook.HORIZON_DAYS if came is None else min(came - now, outlook.HORIZON_DAYS))
    return fair_crps(found, days)


def risen_sd(house, number, now, plan):
    """Return how far the drop had risen by the last reading since it was new, in scatters of the gauge."""
    left, last = int(np.ceil(house.left_day)), int(now // plan.drops_every * plan.drops_every)
    if last <= left:
        return 0.0
    drop = house.drops_pa[:, number]
    return float((drop[last - 1] - drop[left]) / house.gauge_sd_pa)
