"""What only age changes and a gauge shows by itself: the precharge. No path bears on it."""

import math
from dataclasses import dataclass
from datetime import date

import numpy as np
from scipy.special import logsumexp, ndtr

from sim.constants import DAY_S
from sim.diary.book import Diary
from sim.diary.entries import days_since
from sim.diary.evidence import effects_of
from sim.diary.parts.axes import Floats, of_span, spread_evenly
from sim.diary.weights import chosen, effective_size
from sim.scenario.scenario import Scenario
from sim.scenario.values.variants import spans
from sim.units import PSI_PA

DRAWS, KEPT = 16_384, 4000
SCATTER_PA = PSI_PA  # of a gauge that is read at rest [A]
UNKNOWN_YEARS = 3.0  # since it was last set, where nobody noted it: up to so long [A]
_SEED = 6_022_141


@dataclass(frozen=True)
class Precharge:
    """The precharge by draw: now, and the days until so much is lost that it is set again.

    Attributes
    ----------
    now_pa : ndarray
        Today.
    days : ndarray
        Days until it is short by the limit.
    limit_pa : float
        Shortfall at which it is set again.
    readings : int
        How many there are.
    size : float
        Effective number of draws.
    """

    now_pa: Floats
    days: Floats
    limit_pa: float
    readings: int
    size: float


def precharge(scenario: Scenario, diary: Diary, today: date, horizon_days: float) -> Precharge:
    """Return what is known of the precharge."""
    limit_pa = next(
        (r.precharge_off_pa for p in scenario.policies for r in p.rules if r.precharge_off_pa is not None),
        2.0 * PSI_PA,
    )
    readings = [one for one in diary.readings if one.observed == "precharge"]
    set_on = [
        act.at
        for act in diary.acts
        if {"set precharge", "new pressure tank"} & set(effects_of(scenario, act))
    ]
    key = {span.key: span for span in spans(scenario)}.get("pressure_tank.precharge_loss")
    z = spread_evenly(DRAWS, 2, _SEED)
    loss = of_span("loss", key, scenario.tank.precharge_loss_per_s).at(z[:, 0]) * DAY_S
    since = -days_since(today, set_on[-1]) if set_on else None
    age = np.full(DRAWS, since) if since is not None else ndtr(z[:, 1]) * UNKNOWN_YEARS * 365.0
    start_pa = scenario.tank.precharge_pa
    log_weight = np.zeros(DRAWS)
    for one in readings:
        if set_on and one.at < set_on[-1]:
            continue
        then = np.maximum(age + days_since(today, one.at), 0.0)
        expected = start_pa * np.exp(-loss * then)
        log_weight += -2.5 * np.log1p(0.25 * ((one.value - expected) / SCATTER_PA) ** 2)
    log_weight -= logsumexp(log_weight)
    kept = chosen(log_weight, KEPT, _SEED)
    now_pa = start_pa * np.exp(-loss[kept] * np.maximum(age[kept], 0.0))
    at_limit = math.log(start_pa / max(start_pa - limit_pa, 1.0))
    days = np.clip(at_limit / np.maximum(loss[kept], 1e-12) - age[kept], 0.0, horizon_days)
    return Precharge(now_pa, days, limit_pa, len(readings), effective_size(log_weight))
