"""A drop that fell by more than scatter although no work was noted: dirt does not leave by itself."""

from collections.abc import Callable, Iterator

import numpy as np

from sim.diary.parts.axes import Floats
from sim.diary.parts.stage import ONE_TAP_CV, STATED_CV, Drops, StagePart, left_for, spread_of
from sim.units import PSI_PA

GAUGE_SD_PA = PSI_PA  # of a hand reading, wherever the gauge is better [A]
# In 240 planted diaries without a misread 4 had a fall beyond it, and 105 of 113 with a change left out.
FALL_SD = 2.5


def falls(part: StagePart, drops: Drops, changed_days: Floats) -> Iterator[tuple[int, bool]]:
    """Yield each gap between readings in which the drop fell, and whether two readings before it say so.

    Parameters
    ----------
    changed_days : ndarray
        Times at which work was noted, in order [d].

    Notes
    -----
    Two readings after it must be low: one misread makes no fall. Where only one before it was high, that one
    may have been misread.
    """
    read_pa = drops.drop_pa
    fallen_sd = _fallen_sd(part, drops)
    span = np.searchsorted(changed_days, drops.at_days, side="right")
    for gap in range(read_pa.size - 2):
        if span[gap] != span[gap + 2]:
            continue
        after = gap + 1 + int(read_pa[gap + 2] > read_pa[gap + 1])
        if read_pa[after] >= 0.0 and fallen_sd(gap, after) > FALL_SD:
            twice = gap > 0 and span[gap - 1] == span[gap] and fallen_sd(gap - 1, after) > FALL_SD
            yield gap, twice


def lows(part: StagePart, drops: Drops, changed_days: Floats) -> Iterator[int]:
    """Yield each gap between readings after which one is far lower, whatever was read then.

    That one may be a misread, or the first of a cartridge that clogged before the next.
    """
    fallen_sd = _fallen_sd(part, drops)
    span = np.searchsorted(changed_days, drops.at_days, side="right")
    for gap in range(drops.drop_pa.size - 1):
        if span[gap] == span[gap + 1] and drops.drop_pa[gap + 1] >= 0.0 and fallen_sd(gap, gap + 1) > FALL_SD:
            yield gap


def _fallen_sd(part: StagePart, drops: Drops) -> Callable[[int, int], float]:
    """Return how far the drop fell from one reading to another, in scatters of the two.

    A stage beside it that clogs takes drop away without any work: that is reckoned in.
    """
    read_pa, left = drops.drop_pa, left_for(part, drops)
    spread = spread_of(part, drops)
    flow_cv = np.where(np.isfinite(drops.flow_m3_s), STATED_CV, ONE_TAP_CV)
    # What others left is known by their gauges alone: of it, this share is not.
    left_cv = np.hypot(flow_cv * np.nan_to_num(drops.others_pa), GAUGE_SD_PA) * (left < part.spare_pa) / left

    def fallen(before: int, after: int) -> float:
        was = float(read_pa[before] * min(1.0, left[after] / left[before]))
        now = float(read_pa[after])
        gauges = (drops.gauges[before] + drops.gauges[after]) * GAUGE_SD_PA**2
        flows = (spread[before] * was) ** 2 + (spread[after] * now) ** 2 + (left_cv[after] * was) ** 2
        return float((was - now) / np.sqrt(gauges + flows))

    return fallen
