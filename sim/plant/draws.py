"""The draws of a run as the loop sees them: what each asks for, and what it got."""

import math

import numpy as np

from sim.compiled import lean

DRAW = np.dtype(
    [
        ("start_s", "f8"),
        ("coefficient", "f8"),  # [m3/s/Pa^0.5]
        ("duration_s", "f8"),  # infinite for volume-bound draws
        ("volume_m3", "f8"),  # infinite for time-bound draws
        ("patience_s", "f8"),
        # written by the loop
        ("got_m3", "f8"),
        ("seconds", "f8"),
        ("tap_pa", "f8"),  # least pressure at the tap
        ("dose_j_m2", "f8"),  # least dose; infinite when nothing flowed
        ("unmet", "i8"),
    ]
)


def blank(
    start_s: np.ndarray,
    coefficient: np.ndarray,
    duration_s: np.ndarray,
    volume_m3: np.ndarray,
    patience_s: np.ndarray,
) -> np.ndarray:
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
    ndarray
        Records of `DRAW`, with empty results.
    """
    found = np.empty(start_s.size, DRAW)
    _fill(found, start_s, coefficient, duration_s, volume_m3, patience_s)
    return found


@lean
def _fill(
    found: np.ndarray,
    start_s: np.ndarray,
    coefficient: np.ndarray,
    duration_s: np.ndarray,
    volume_m3: np.ndarray,
    patience_s: np.ndarray,
) -> None:
    """Write record by record, in the order in which they lie in memory."""
    for i in range(found.size):
        one = found[i]
        one.start_s, one.coefficient, one.duration_s = start_s[i], coefficient[i], duration_s[i]
        one.volume_m3, one.patience_s = volume_m3[i], patience_s[i]
        one.got_m3 = one.seconds = 0.0
        one.tap_pa = one.dose_j_m2 = math.inf
        one.unmet = 0
