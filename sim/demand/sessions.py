"""When people are about the house's taps: draws come in sessions, not each by itself."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sim.constants import DAY_S, HOUR_S

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
_RARE = 0.15  # events a session; below it one count for all sessions is faster than one for each
_HOUR_EDGES_S = np.arange(25) * HOUR_S


@dataclass(frozen=True)
class SessionHabit:
    """How people bundle their use of water."""

    sessions_per_person_day: float  # mean number of sessions [1/d], >= 0; with 0 every draw comes by itself
    median_s: float  # median time from the beginning of a session to one of its draws [s], > 0
    spread: float  # standard deviation of the logarithm of that time [-], >= 0
    # share of sessions that begin in each hour, float64[24], above 0 wherever a use may begin
    profile: Floats


@dataclass(frozen=True, eq=False)
class Sessions:
    """The sessions of a run in order of their beginning; one array element a session."""

    day: Ints  # day of the run, int64, ascending
    slot: Ints  # hour of the day, 0 to 23, on a weekend 24 to 47, int64
    hour_s: Floats  # begin of that hour, from the start of the run [s], float64
    within_s: Floats  # beginning, from the begin of that hour [s], float64
    habit: SessionHabit  # what they were drawn from

    def of_events(self, mean: Floats, rng: np.random.Generator) -> Ints:
        """Draw a Poisson number of events for each session.

        Parameters
        ----------
        mean : numpy.ndarray
            Mean number of events of each session [-], float64, >= 0.
        rng : numpy.random.Generator
            Source of randomness.

        Returns
        -------
        numpy.ndarray
            Session of each event, int64.

        Notes
        -----
        Rare events are counted all at once and told apart by the session, which is the same law and cheaper.
        """
        total = float(mean.sum())
        if total > _RARE * mean.size:
            return np.repeat(np.arange(mean.size), rng.poisson(mean))
        return np.searchsorted(
            np.cumsum(mean)[:-1], total * np.sort(rng.random(rng.poisson(total))), side="right"
        )

    def starts_s(self, session: Ints, rng: np.random.Generator) -> Floats:
        """Draw when the draws of the given sessions begin.

        Parameters
        ----------
        session : numpy.ndarray
            Session of each draw, int64.
        rng : numpy.random.Generator
            Source of randomness.

        Returns
        -------
        numpy.ndarray
            Start of each draw, from the start of the run [s], float64.

        Notes
        -----
        A lognormal time after the beginning of the session; what passes the end of the hour goes on at its
        beginning, so that starts are even within the hour and every hour keeps its share.
        """
        after_s = self.habit.spread * rng.standard_normal(session.size)
        np.exp(after_s, out=after_s)
        after_s *= self.habit.median_s
        after_s += self.within_s[session]
        passed_s = after_s * (1.0 / HOUR_S)
        np.floor(passed_s, out=passed_s)
        passed_s *= HOUR_S
        after_s -= passed_s
        after_s += self.hour_s[session]
        return after_s


def sessions_of(
    expected_people: Floats, weekend: npt.NDArray[np.bool_], habit: SessionHabit, rng: np.random.Generator
) -> Sessions:
    """Draw the sessions of a run.

    Parameters
    ----------
    expected_people : numpy.ndarray
        People in the house times the factor of the day [-], float64[n_days], >= 0.
    weekend : numpy.ndarray
        Which days are of the weekend, bool[n_days].
    habit : SessionHabit
        How many, and when.
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    Sessions
        As many on a day as people have on average, rounded up or down by chance; their hours by the profile.

    Notes
    -----
    Their number hardly varies, so they bundle draws without making days differ more than `day_factors` says.
    """
    number = np.floor(habit.sessions_per_person_day * expected_people + rng.random(expected_people.size))
    day = np.repeat(np.arange(number.size), number.astype(np.int64))
    uniform = day + rng.random(day.size)
    uniform.sort()  # before the hours are looked up: neighbours then lie in one hour, which is faster
    uniform -= day
    reached = np.concatenate([[0.0], np.cumsum(habit.profile)])
    begin_s = np.interp(uniform, reached / reached[-1], _HOUR_EDGES_S) + day * DAY_S
    hour = np.minimum(
        (begin_s / HOUR_S).astype(np.int64), 24 * day + 23
    )  # rounding may reach the midnight after
    hour_s = hour * HOUR_S
    return Sessions(day, hour - 24 * day + 24 * weekend[day], hour_s, begin_s - hour_s, habit)
