"""How much water is asked for in spans of time, and on how many days of them more than a little."""

import numpy as np
import numpy.typing as npt

from sim.constants import DAY_S

Floats = npt.NDArray[np.float64]


def asked_m3(coefficient: Floats, duration_s: Floats, volume_m3: Floats, pressure_pa: float) -> Floats:
    """Return what each draw asks for.

    Parameters
    ----------
    coefficient : ndarray
        Fixture coefficients K of Q = K sqrt(p) [m3/s/Pa^0.5].
    duration_s : ndarray
        Length of time-bound draws, infinite for volume-bound ones [s].
    volume_m3 : ndarray
        Volume of volume-bound draws, infinite for time-bound ones [m3].
    pressure_pa : float
        Pressure at the taps, above 0 [Pa].

    Examples
    --------
    >>> asked_m3(np.array([1e-7, 1e-7]), np.array([10.0, np.inf]), np.array([np.inf, 0.005]), 4e4).tolist()
    [0.0002, 0.005]
    """
    found: Floats = volume_m3.copy()
    timed = np.isinf(volume_m3)
    found[timed] = coefficient[timed] * np.sqrt(pressure_pa) * duration_s[timed]
    return found


def days_asked(start_s: Floats, volume_m3: Floats, spans_s: Floats, least_m3: float, n_days: int) -> Floats:
    """Return on how many days of each span more than a little was asked for within it.

    Parameters
    ----------
    start_s : ndarray
        Starts of draws, ascending [s].
    volume_m3 : ndarray
    spans_s : ndarray
        Start and end of each span, shape (n, 2) [s].
    least_m3 : float
        What must be passed for a day to count [m3].
    n_days : int
        Days of the run; what lies beyond does not count.

    Returns
    -------
    ndarray
        Days of each span, shape (n,). A draw belongs to the moment it starts.

    Examples
    --------
    A draw of 2 L each noon; a span from the first noon to the second day's evening, one in the night.

    >>> starts = np.array([43200.0, 129600.0])
    >>> spans = np.array([[4e4, 1.5e5], [0.0, 100.0]])
    >>> days_asked(starts, np.array([0.002, 0.002]), spans, 0.001, 2).tolist()
    [2.0, 0.0]
    """
    so_far_m3 = np.concatenate([[0.0], np.cumsum(volume_m3)])
    begin_s, end_s = spans_s[:, 0], np.minimum(spans_s[:, 1], n_days * DAY_S)
    midnights = so_far_m3[np.searchsorted(start_s, np.arange(n_days + 1) * DAY_S)]
    whole = np.concatenate([[0], np.cumsum(np.diff(midnights) > least_m3)])  # such days before each midnight
    first = np.minimum((begin_s // DAY_S).astype(np.int64), n_days - 1)
    last = np.maximum(np.ceil(end_s / DAY_S).astype(np.int64) - 1, first)
    before, until = so_far_m3[np.searchsorted(start_s, begin_s)], so_far_m3[np.searchsorted(start_s, end_s)]
    within = until - before > least_m3
    at_first, at_last = midnights[first + 1] - before > least_m3, until - midnights[last] > least_m3
    days = at_first + (whole[last] - whole[np.minimum(first + 1, last)]) + at_last
    found: Floats = np.where(first == last, within, days).astype(np.float64)
    return found
