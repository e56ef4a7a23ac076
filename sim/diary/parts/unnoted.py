"""Work that nobody noted: in which gap between readings it may have been, and how likely that is."""

import itertools
import math

import numpy as np
import numpy.typing as npt

from sim.units import PSI_PA

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
# That a change between two readings was not noted [A]: one in ten, with about five readings a change.
HIDDEN_CHANCE = 0.02
MOST_HIDDEN = 0.2
HIDDEN_DRAWN = 0.35  # share of draws with one: more than the chance, so that enough are there to be weighed
_EVEN = 0.3  # of them anywhere; the rest where a drop fell
_FALL_PA = 2.0 * PSI_PA  # a smaller fall is scatter


def even(readings: int) -> Floats:
    """Return the shares of gaps when nothing points to one of them."""
    gaps = max(readings - 1, 0)
    return np.full(gaps, 1.0 / gaps) if gaps else np.zeros(0)


def by_falls(at_days: Floats, drop_pa: Floats, changed_days: Floats) -> Floats:
    """Return the shares of gaps: more draws where the drop fell and no change was noted.

    Parameters
    ----------
    changed_days : ndarray
        Times of changes that were noted [d].

    Notes
    -----
    A share says where draws are made, not how likely it is: `log_hidden` takes it out again. The drop before
    is the less of two, that after the more of two, so that one misread makes no fall.
    """
    flat = even(at_days.size)
    if not flat.size:
        return flat
    later = np.append(drop_pa[2:], drop_pa[-1:])
    fall = drop_pa[:-1] - np.maximum(drop_pa[1:], later)
    noted = np.array(
        [bool(((changed_days > a) & (changed_days <= b)).any()) for a, b in itertools.pairwise(at_days)]
    )
    weight = np.where(noted, 0.0, np.maximum(fall - _FALL_PA, 0.0))
    return flat if weight.sum() <= 0.0 else _EVEN * flat + (1.0 - _EVEN) * weight / weight.sum()


def hidden_gap(hidden: Floats, gap_shares: Floats) -> Ints:
    """Return the gap between readings in which a service was not noted, -1 for none.

    Parameters
    ----------
    hidden : ndarray
        Even between 0 and 1.
    gap_shares : ndarray
        Share of each gap.
    """
    if not gap_shares.size:
        return np.full(hidden.shape, -1, dtype=np.int64)
    place = np.searchsorted(np.cumsum(gap_shares), hidden / HIDDEN_DRAWN, side="right")
    return np.where(hidden < HIDDEN_DRAWN, np.minimum(place, gap_shares.size - 1), -1)


def log_hidden(gap: Ints, gap_shares: Floats, chance_share: float = HIDDEN_CHANCE) -> Floats:
    """Return the log of chance over share of draws, for draws with a service that was not noted and without.

    Parameters
    ----------
    gap : ndarray
        From `hidden_gap`.
    """
    gaps = gap_shares.size
    if not gaps:
        return np.zeros(gap.shape)
    chance = min(chance_share * gaps, MOST_HIDDEN)
    with_one = np.log(chance / gaps / (HIDDEN_DRAWN * gap_shares))
    without = math.log((1.0 - chance) / (1.0 - HIDDEN_DRAWN))
    return np.where(gap >= 0, with_one[np.maximum(gap, 0)], without)
