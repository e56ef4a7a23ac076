"""The draws of a run as the loop sees them: what each asks for, and what it got."""

from typing import NamedTuple

import numpy as np


class Draws(NamedTuple):
    """Arrays of one length, sorted by start; the second half is written by the loop."""

    start_s: np.ndarray
    coefficient: np.ndarray  # [m3/s/Pa^0.5]
    duration_s: np.ndarray  # infinite for volume-bound draws
    volume_m3: np.ndarray  # infinite for time-bound draws
    patience_s: np.ndarray
    got_m3: np.ndarray
    seconds: np.ndarray
    tap_pa: np.ndarray  # least pressure at the tap
    dose_j_m2: np.ndarray  # least dose; infinite when nothing flowed
    unmet: np.ndarray


def blank(
    start_s: np.ndarray,
    coefficient: np.ndarray,
    duration_s: np.ndarray,
    volume_m3: np.ndarray,
    patience_s: np.ndarray,
) -> Draws:
    """Return draws that have had nothing yet.

    Parameters
    ----------
    start_s : ndarray
        Start, sorted [s].
    coefficient : ndarray
        Fixture coefficient, above 0 [m3/s/Pa^0.5].
    duration_s : ndarray
        Length of time-bound draws, infinite for others [s].
    volume_m3 : ndarray
        Volume of volume-bound draws, infinite for others [m3].
    patience_s : ndarray
        Time after which a volume-bound draw is given up [s].

    Returns
    -------
    Draws
        With empty results.
    """
    n = start_s.size
    return Draws(
        start_s,
        coefficient,
        duration_s,
        volume_m3,
        patience_s,
        np.zeros(n),
        np.zeros(n),
        np.full(n, np.inf),
        np.full(n, np.inf),
        np.zeros(n, dtype=np.uint8),
    )
