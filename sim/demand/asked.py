"""How much water is asked for in spans of time, and on how many days of them more than a little."""

import numpy as np
import numpy.typing as npt

from sim.constants import DAY_S

Floats = npt.NDArray[np.float64]


class Asked:
    """What was asked for in a run, whether or not it came; a draw belongs to the moment it starts."""

    def __init__(self, start_s: Floats, volume_m3: Floats, least_m3: float, n_days: int):
        """Sum up what was asked for.

        Parameters
        ----------
        start_s : ndarray
            Starts of draws, ascending [s].
        volume_m3 : ndarray
        least_m3 : float
            What must be passed for a day to count [m3].
        n_days : int
            Days of the run; what lies beyond does not count.
        """
        self.start_s, self.least_m3, self.n_days = start_s, least_m3, n_days
        self._so_far_m3 = np.zeros(volume_m3.size + 1)
        np.cumsum(volume_m3, out=self._so_far_m3[1:])
        self._midnights_m3 = self._before_m3(np.arange(n_days + 1) * DAY_S)
        over = np.diff(self._midnights_m3) > least_m3
        self._whole = np.concatenate([[0], np.cumsum(over)])  # such days before each midnight

    def _before_m3(self, time_s: npt.NDArray[np.floating]) -> Floats:
        return self._so_far_m3[np.searchsorted(self.start_s, time_s)]

    def next_s(self, time_s: Floats) -> Floats:
        """Return the first draw after each time, infinite after the last.

        Parameters
        ----------
        time_s : ndarray
        """
        at = np.searchsorted(self.start_s, time_s, side="right")
        return np.append(self.start_s, np.inf)[at]

    def days(self, spans_s: Floats) -> Floats:
        """Return on how many days of each span more than a little was asked for within it.

        Parameters
        ----------
        spans_s : ndarray
            Start and end of each span, shape (n, 2) [s].

        Returns
        -------
        ndarray
            Days of each span, shape (n,).

        Examples
        --------
        A draw of 2 L each noon; a span from the first noon to the second day's evening, one in the night.

        >>> asked = Asked(np.array([43200.0, 129600.0]), np.array([0.002, 0.002]), 0.001, 2)
        >>> asked.days(np.array([[4e4, 1.5e5], [0.0, 100.0]])).tolist()
        [2.0, 0.0]
        """
        midnights, whole = self._midnights_m3, self._whole
        begin_s, end_s = spans_s[:, 0], np.minimum(spans_s[:, 1], self.n_days * DAY_S)
        first = np.minimum((begin_s // DAY_S).astype(np.int64), self.n_days - 1)
        last = np.maximum(np.ceil(end_s / DAY_S).astype(np.int64) - 1, first)
        before, until = self._before_m3(begin_s), self._before_m3(end_s)
        within = until - before > self.least_m3
        at_first, at_last = (
            midnights[first + 1] - before > self.least_m3,
            until - midnights[last] > self.least_m3,
        )
        days = at_first + (whole[last] - whole[np.minimum(first + 1, last)]) + at_last
        found: Floats = np.where(first == last, within, days).astype(np.float64)
        return found
