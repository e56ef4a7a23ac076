"""Jobs that one technician does for others, without an event for each: who asks is told his turn."""

from collections.abc import Iterable


class Others:
    """Others' jobs, first come first served, as a `simpy.Resource` of one would have it to the last digit."""

    def __init__(self, calls_s: Iterable[float] = (), job_s: float = 0.0):
        """Wait for calls.

        Parameters
        ----------
        calls_s : iterable of float
            When others call, ascending [s].
        job_s : float
            What each job takes [s].
        """
        self.calls, self.job_s = iter(calls_s), job_s
        self.free_s = 0.0  # when all that is known of is done; a job for this house sets it anew
        self._now_s = 0.0
        self._next_s = next(self.calls, float("inf"))

    def turn_s(self, asked_s: float) -> float:
        """Return when the technician is free for one who asks at a time, after all who called before [s]."""
        while (call_s := self._now_s + max(self._next_s - self._now_s, 0.0)) <= asked_s:
            self.free_s = max(call_s, self.free_s) + self.job_s
            self._now_s, self._next_s = call_s, float(next(self.calls, float("inf")))
        return max(asked_s, self.free_s)
