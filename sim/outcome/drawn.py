"""The draws of a run, gone through once for all that a row says of them: records lie far apart in memory."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sim.compiled import lean
from sim.constants import DAY_S
from sim.twin.history import History

Floats = npt.NDArray[np.float64]
OVER = 1.0 + 1e-9  # of the rated flow of the UV unit: rounding is not above it


@dataclass(frozen=True)
class Drawn:
    """What was asked for, and what those had that had water.

    Attributes
    ----------
    start_s, asked_m3 : ndarray
        Of every draw, in order; volume at mean pressure.
    tap_pa : ndarray
        Least pressure during each draw that had water.
    served_pa : float
        Least of those that were served, nan when none was.
    over_share : float
        Share of them during which all open taps together asked for more than the UV unit is rated for, and
        no restrictor held it.
    """

    start_s: Floats
    asked_m3: Floats
    tap_pa: Floats
    served_pa: float
    over_share: float


def drawn(history: History) -> Drawn:
    """Go through the draws of a run."""
    draws = history.draws
    longest_s = history.n_days * DAY_S  # a tap may be left open for good
    root = math.sqrt(0.5 * sum(history.scenario.gauge_range_pa()))
    start_s, asked_m3, tap_pa = np.empty((3, draws.size))
    most_m3_s, running = np.zeros(draws.size), np.empty(draws.size, dtype=np.int64)
    had, served_pa = _had(draws, root, longest_s, start_s, asked_m3, tap_pa)
    ran = together(draws, running, most_m3_s)
    unit = history.scenario.uv
    over = np.count_nonzero(np.minimum(most_m3_s, unit.most_flow_m3_s) > unit.whole_rated_flow_m3_s * OVER)
    served_pa = served_pa if math.isfinite(served_pa) else math.nan
    return Drawn(start_s, asked_m3, tap_pa[:had], served_pa, over / ran if ran else 0.0)


@lean
def _had(
    draws: np.ndarray, root: float, longest_s: float, start_s: Floats, asked_m3: Floats, tap_pa: Floats
) -> tuple[int, float]:
    """Write what each asked for, and the pressure of those that had water; return how many and the least."""
    had, least = 0, math.inf
    for i in range(draws.size):
        one = draws[i]
        start_s[i] = one.start_s
        asked_m3[i] = one.volume_m3
        if math.isinf(one.volume_m3):
            asked_m3[i] = one.coefficient * root * min(one.duration_s, longest_s)
        if one.got_m3 > 0.0 and math.isfinite(one.tap_pa):
            tap_pa[had] = one.tap_pa
            had += 1
            if not one.unmet:
                least = min(least, one.tap_pa)
    return had, least


@lean
def together(draws: np.ndarray, running: npt.NDArray[np.int64], most_m3_s: Floats) -> int:
    """Write, for each draw that had water, the greatest flow of all draws together while it ran.

    Each counts with its mean flow; a draw that ended in the instant it began has none.

    Parameters
    ----------
    draws : ndarray
        Records of `sim.plant.draws.DRAW` in order of their start.
    running : ndarray of int
        Room for the numbers of the draws that run at once.
    most_m3_s : ndarray
        Changed in place [m3/s].

    Returns
    -------
    int
        Number of draws that had a flow.
    """
    flow, count, ran = 0.0, 0, 0
    for i in range(draws.size):
        one = draws[i]
        if not (one.got_m3 > 0.0 and math.isfinite(one.tap_pa) and one.seconds > 0.0):
            continue
        ran, slot = ran + 1, 0
        while slot < count:  # where one ends as another begins, the end comes first
            other = draws[running[slot]]
            if other.start_s + other.seconds <= one.start_s:
                count -= 1
                flow -= other.got_m3 / other.seconds
                running[slot] = running[count]
            else:
                slot += 1
        flow = one.got_m3 / one.seconds + (flow if count > 0 else 0.0)
        running[count] = i
        count += 1
        for slot in range(count):
            most_m3_s[running[slot]] = max(most_m3_s[running[slot]], flow)
    return ran
