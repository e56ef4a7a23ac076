"""How near can a date be told at all? By who knows house, law and load as they stand, and not what comes.

The house itself is run on with weather and draws of other chances. Against it stands what a gauge shows: how
far the drop has risen by the last reading, in its scatter; and how near a date is told from readings of the
UV display by who knows all of its course but the pace.
"""

import numpy as np
from scoringrules import crps_ensemble

from sim.diary import outlook
from sim.twin.due_drop import due_drop_pa
from tests.diary import planted, trial

FUTURES = 12
PACES = np.exp(np.linspace(-1.2, 1.2, 241))  # of a decline, beside its true one
PACE_SD = 0.5  # of its log before anything was read: the factor of 1.6 by which films of one kind differ [A]
SETS = 8  # of readings of one house


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
    limit = due_drop_pa(scenario, part.number)
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


def pace_crps(house, now, days, plan, rng):
    """Return the mean CRPS [d] of who knows how the light falls to its end, but not how fast.

    The course of the reading since nobody came is the house's own, and it is known; only one factor of its
    logarithm is not, and has to come from readings of the display in their scatter.
    """
    left = int(np.ceil(house.left_day))
    fallen = -np.log(np.clip(house.light[left:] / house.light[left], 1e-6, 1.0))
    courses = house.light[left] * np.exp(-PACES[:, None] * fallen)
    under = courses[:, int(now) - left :] < house.site.uv.alarm
    dates = np.where(under.any(axis=1), under.argmax(axis=1), outlook.HORIZON_DAYS)
    at = np.arange(plan.light_every, now, plan.light_every)
    at = at[at > left].astype(int) - 1
    found = []
    for _ in range(SETS):
        read = planted.rounded(house.light[at] + house.light_sd * rng.standard_normal(at.size), 0.01)
        off = ((read - courses[:, at - left]) / house.light_sd) ** 2
        log_weight = -0.5 * (off.sum(axis=1) + (np.log(PACES) / PACE_SD) ** 2)
        weight = np.exp(log_weight - log_weight.max())
        found.append(crps_ensemble(days, dates, ens_w=weight / weight.sum(), estimator="nrg"))
    return float(np.mean(found))
