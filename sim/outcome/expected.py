"""Days below the dose target with known chances in place of what happened to be seen.

Cuts, lamps and missed steps come by chances that are known. For each, what this run met less what is met on
average, in days, has mean 0; taken off the days that were counted it leaves their mean and takes much of
their scatter. Nothing here has to be exact for that: a poor guess of the days leaves more scatter.
One thing is taken as it came: when somebody works at the train next. The mean holds as far as a missed step
does not move that.
"""

from functools import lru_cache

import numpy as np
import numpy.typing as npt
from scipy.special import ndtri

from sim.constants import DAY_S, YEAR_DAYS
from sim.demand.asked import Asked
from sim.outcome.drawn import Drawn
from sim.plant import cause
from sim.supply.power import cut_lengths_s
from sim.twin.history import History

Floats = npt.NDArray[np.float64]
CUTS = 4096  # spread evenly over start and length
GOLDEN, PLASTIC = 0.7548776662466927, 0.5698402909980532  # the most even steps in two dimensions
PARTS = 16  # of equal chance, of a wait
CAUSE_OF_EFFECT = {"unit dark": cause.UNPLUGGED, "bypass open": cause.BYPASS_OPEN}
CHANCES = (cause.POWER_CUT, cause.LAMP_DIED, *CAUSE_OF_EFFECT.values())  # causes whose chances are known


def _wait_means() -> Floats:
    """Return the mean of an exponential wait of mean 1 within each of PARTS spans of equal chance."""
    left = 1.0 - np.arange(PARTS + 1) / PARTS
    area = left * (1.0 - np.log(np.where(left > 0.0, left, 1.0)))  # integral of -ln u from 0
    return PARTS * (area[:-1] - area[1:])


WAITS = _wait_means()


def excess_days(history: History, draws: Drawn) -> dict[int, float]:
    """Return the days that cuts, lamps and missed steps cost one run above those to be expected of it.

    Returns
    -------
    dict
        Days by code of the cause, of mean 0 over runs; below 0 in a run that met little.
    """
    found = dict.fromkeys(CHANCES, 0.0)
    if len(history.draws):
        least_m3 = history.scenario.goals.below_target_volume_m3
        asked = Asked(draws.start_s, draws.asked_m3, least_m3, history.n_days)
        found[cause.POWER_CUT] = _cuts(history, asked)
        found[cause.LAMP_DIED] = _lamps(history)
        found |= _steps(history, asked)
    return found


def _cuts(history: History, asked: Asked) -> float:
    """Return days on which cuts bore, less those to be expected; none where a valve shuts without light."""
    supply, unit = history.scenario.power, history.scenario.uv
    if unit.shutoff_valve or supply.saifi_per_year == 0.0:
        return 0.0
    spans_s = _cut_spans_s(history.n_days, supply.saifi_per_year, supply.saidi_s, supply.cut_spread)
    each = asked.days(spans_s + np.array([0.0, unit.warm_up_s])).mean()
    met = asked.days(history.cuts_s + np.array([0.0, unit.warm_up_s])).sum()
    return float(met - each * supply.saifi_per_year * history.n_days / YEAR_DAYS)


@lru_cache(maxsize=8)
def _cut_spans_s(n_days: int, saifi_per_year: float, saidi_s: float, spread: float) -> Floats:
    """Return start and end of cuts that come evenly over a run and its chances, in order of their start."""
    number = np.arange(1, CUTS + 1)
    start_s = (number * GOLDEN % 1.0) * n_days * DAY_S
    length_s = cut_lengths_s(ndtri(number * PLASTIC % 1.0), saifi_per_year, saidi_s, spread)
    order = np.argsort(start_s)  # neighbours are looked up faster
    return np.column_stack([start_s, start_s + length_s])[order]


def _lamps(history: History) -> float:
    """Return days of failed lamps, less those to be expected, by how long a mend takes."""
    unit = history.scenario.uv
    if unit.shutoff_valve or unit.in_row > 1:  # the other of two in a row may do alone
        return 0.0
    days: float = 1.0 + history.scenario.people.repair_delay_s / DAY_S
    return history.lamps_over_count * days


def _steps(history: History, asked: Asked) -> dict[int, float]:
    """Return days of steps that were missed, less those of steps that may be."""
    if not history.chances:
        return {}
    table = np.array(
        [(c.probability, c.begin_s, c.mean_s, c.mend_s, c.round_s, c.wait_ratio) for c in history.chances]
    )
    probability, begin_s, mean_s, mend_s, round_s, wait = table.T[:, :, None]
    after = np.searchsorted(history.visits_s, begin_s, side="right")
    visit_s = np.append(history.visits_s, np.inf)[after]
    visit_s[[not c.visited for c in history.chances]] = np.inf
    waits = np.column_stack([np.broadcast_to(WAITS, (len(table), PARTS)), np.nan_to_num(wait)])
    found_s = np.minimum(asked.next_s(begin_s + waits * mean_s), round_s)
    end_s = np.minimum(np.minimum(found_s + mend_s, visit_s), history.n_days * DAY_S)
    spans = np.stack([np.broadcast_to(begin_s, end_s.shape), end_s], axis=-1).reshape(-1, 2)
    days = asked.days(spans).reshape(end_s.shape)
    met = np.where(np.isnan(wait[:, 0]), 0.0, days[:, PARTS])
    excess = met - probability[:, 0] * days[:, :PARTS].mean(axis=1)
    effects = {slip.name: slip.effect for slip in history.scenario.slips}
    of = np.array([CAUSE_OF_EFFECT[effects[chance.subject]] for chance in history.chances])
    return {code: float(excess[of == code].sum()) for code in CAUSE_OF_EFFECT.values()}
