"""The draws of a household, all drawn beforehand, so that every policy meets the same house."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sim.constants import DAY_S, HOUR_S
from sim.demand.days import day_factors, people_factors, presence, weekend
from sim.demand.end_use import EndUse
from sim.demand.sessions import Sessions
from sim.errors import InputError

__all__ = ["DrawTrace", "day_factors", "from_record", "generate", "presence"]

Floats = npt.NDArray[np.float64]
_HOUR_EDGES_S = np.arange(25) * HOUR_S


@dataclass(frozen=True, eq=False)
class DrawTrace:
    """Every draw of a run in order of its start; one array element a draw."""

    start_s: Floats  # when the tap opens, from the start of the run [s], float64, ascending
    use: npt.NDArray[np.int16]  # number of the end use, int16
    coefficient: Floats  # fixture coefficient K of Q = K sqrt(p) [m3/s/Pa^0.5], float64
    duration_s: Floats  # duration of a time-bound draw [s]; inf for a volume-bound one
    volume_m3: Floats  # volume of a volume-bound draw [m3]; inf for a time-bound one
    patience_s: Floats  # time after the start at which an unfinished volume-bound draw is given up [s]


def _lognormal(mean: float, cv: float, normal: Floats) -> Floats:
    """Turn standard normal numbers into lognormal ones of a given mean and coefficient of variation."""
    variance = np.log1p(cv * cv)
    numbers: Floats = np.exp(np.sqrt(variance) * normal)
    numbers *= mean * np.exp(-0.5 * variance)
    return numbers


def _hours_s(use: EndUse, free: npt.NDArray[np.bool_], uniform: Floats) -> Floats:
    """Return times of day: the hour by the day's profile, evenly within the hour."""
    # One inverse distribution function for both kinds of day: weekdays on (0, 1), weekends on (1, 2).
    shares = (use.weekday_profile, use.weekend_profile)
    reached = [np.minimum(np.cumsum(share / share.sum()), 1.0) for share in shares]
    knots = np.concatenate([[0.0], reached[0][:-1], [1.0, 1.0], 1.0 + reached[1][:-1], [2.0]])
    return np.interp(uniform + free, knots, np.tile(_HOUR_EDGES_S, 2))


def _starts_s(
    use: EndUse,
    people: Floats,
    day_factor: Floats,
    free: npt.NDArray[np.bool_],
    sessions: Sessions | None,
    rng: np.random.Generator,
) -> Floats:
    """Draw the start of each event of one use: in sessions, or each by itself where there are none."""
    own = people_factors(people, use.day_cv, rng)
    if sessions is None:
        a_day = use.events_per_person_day * people * day_factor * own
        day = np.repeat(np.arange(a_day.size), rng.poisson(a_day))
        return day * DAY_S + _hours_s(use, free[day], rng.random(day.size))
    a_session = use.events_per_person_day / (sessions.habit.sessions_per_person_day * sessions.habit.profile)
    shares = use.weekday_profile, use.weekend_profile
    mean = np.concatenate([share / share.sum() * a_session for share in shares])[sessions.slot]
    if use.day_cv > 0.0:
        mean *= own[sessions.day]
    return sessions.starts_s(sessions.of_events(mean, rng), rng)


def _events(
    use: EndUse,
    people: Floats,
    day_factor: Floats,
    free: npt.NDArray[np.bool_],
    sessions: Sessions | None,
    rng: np.random.Generator,
) -> tuple[Floats, Floats, Floats]:
    """Draw the starts, sizes (volume or duration) and coefficients of one end use, fills told apart."""
    start_s = _starts_s(use, people, day_factor, free, sessions, rng)
    size = _lognormal(
        use.volume_m3 if use.volume_bound else use.duration_s, use.size_cv, rng.standard_normal(start_s.size)
    )
    coefficient = _lognormal(use.coefficient, use.flow_cv, rng.standard_normal(start_s.size))
    if use.fills_per_event == 1.0:
        return start_s, size, coefficient
    fills = np.floor(use.fills_per_event + rng.random(start_s.size)).astype(np.int64)
    nth = np.arange(fills.sum()) - np.repeat(np.cumsum(fills) - fills, fills)
    start_s = np.repeat(start_s, fills) + use.fill_gap_s * nth
    return start_s, np.repeat(size / fills, fills), np.repeat(coefficient, fills)


def generate(
    uses: Sequence[EndUse],
    people_per_day: Floats,
    day_factor: Floats,
    weekday_of_day0: int,
    generators: Sequence[np.random.Generator],
    sessions: Sessions | None = None,
) -> DrawTrace:
    """Draw every use of water of a run.

    Parameters
    ----------
    uses : sequence of EndUse
        What the household uses water for, at least one; its place in the sequence becomes its number.
    people_per_day : numpy.ndarray
        People in the house on each day [-], float64[n_days]; 0 while they are away.
    day_factor : numpy.ndarray
        Factor on the number of events of each day [-], float64[n_days], mean 1.
    weekday_of_day0 : int
        Day of the week on which the run starts, 0 for Monday.
    generators : sequence of numpy.random.Generator
        One source of randomness for each use, so that a change of one use leaves the others as they were.
    sessions : Sessions, optional
        Sessions the draws come in, drawn for these people and days; without them every draw comes by itself.

    Returns
    -------
    DrawTrace
        Draws in order of start; those that would begin after the last day are left out.

    Notes
    -----
    Events of a use on a day are Poisson with mean events x people x factor of the day x factor of the use.
    Their hour follows the profile, evenly within the hour. In sessions, each session has a Poisson number of
    events of each use, such that counts and hours stay what they are without sessions (a Neyman-Scott process
    whose sessions a day hardly vary). Size and flow are lognormal with the stated mean and coefficient of
    variation, independent of each other. A use of several fills shares its volume (or duration) evenly among
    them; a fractional mean such as 4.4 gives 4 or 5.

    References
    ----------
    Buchberger & Wu (1995), J. Hydraul. Eng. 121(3), 232-246 (Poisson rectangular pulses); Buchberger & Wells
    (1996), J. Water Resour. Plan. Manage. 122(1), 11-19 (daily counts vary more than Poisson); Neyman & Scott
    (1958), J. R. Stat. Soc. B 20(1), 1-43 (clusters); Alvisi, Franchini & Marinelli (2003), Water Resour.
    Manage. 17(3), 197-222 (clusters of household draws).
    """
    n_days = people_per_day.size
    free = weekend(n_days, weekday_of_day0)
    parts = [
        _events(use, people_per_day, day_factor, free, sessions, rng)
        for use, rng in zip(uses, generators, strict=True)
    ]
    start_s, size, coefficient = (np.concatenate(column) for column in zip(*parts, strict=True))
    order = np.argsort(start_s, kind="stable")  # nearly in order already: the other kind takes twice as long
    start_s = start_s[order]
    order = order[: np.searchsorted(start_s, n_days * DAY_S)]
    number = np.repeat(np.arange(len(uses), dtype=np.int16), [part[0].size for part in parts])[order]
    size, by_volume = size[order], np.array([use.volume_bound for use in uses])[number]
    return DrawTrace(
        start_s=start_s[: order.size],
        use=number,
        coefficient=coefficient[order],
        duration_s=np.where(by_volume, np.inf, size),
        volume_m3=np.where(by_volume, size, np.inf),
        patience_s=np.array([use.patience_s for use in uses])[number],
    )


def from_record(
    start_s: Floats,
    use: npt.NDArray[np.integer],
    flow_m3_s: Floats,
    reference_pa: float,
    duration_s: Floats,
    volume_m3: Floats,
    patience_s: float,
) -> DrawTrace:
    """Make a trace of metered draws.

    Parameters
    ----------
    start_s : numpy.ndarray
        Start of each draw, from the start of the run [s], in any order.
    use : numpy.ndarray
        Number of the end use of each draw, int.
    flow_m3_s : numpy.ndarray
        Metered flow of each draw [m3/s], > 0.
    reference_pa : float
        Gauge pressure at the fixtures while it was metered [Pa], > 0.
    duration_s : numpy.ndarray
        Duration of each time-bound draw [s]; nan for a volume-bound one.
    volume_m3 : numpy.ndarray
        Volume of each volume-bound draw [m3]; read only where the duration is nan.
    patience_s : float
        Time after its start at which an unfinished volume-bound draw is given up [s].

    Returns
    -------
    DrawTrace
        Draws in order of start.

    Raises
    ------
    InputError
        When a draw has neither a duration nor a volume, or no flow.

    Examples
    --------
    >>> one, nan = np.array([1e-4]), np.array([np.nan])
    >>> trace = from_record(np.array([60.0]), np.array([0]), one, 1e4, nan, np.array([0.01]), 600.0)
    >>> trace.coefficient.tolist(), trace.duration_s.tolist()
    ([1e-06], [inf])
    """
    volume_bound = np.isnan(duration_s)
    bad = np.flatnonzero((volume_bound & ~(volume_m3 > 0.0)) | ~(flow_m3_s > 0.0) | (duration_s <= 0.0))
    if bad.size:
        raise InputError(
            f"metered draw {bad[0] + 1}: wanted a flow above 0 and a duration or a volume above 0"
        )
    order = np.argsort(start_s, kind="stable")
    return DrawTrace(
        start_s=start_s[order].astype(np.float64),
        use=use[order].astype(np.int16),
        coefficient=flow_m3_s[order] / np.sqrt(reference_pa),
        duration_s=np.where(volume_bound, np.inf, duration_s)[order],
        volume_m3=np.where(volume_bound, volume_m3, np.inf)[order],
        patience_s=np.full(start_s.size, patience_s),
    )
