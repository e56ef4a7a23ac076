"""What came of forecasts: closeness, how often it fell in the band, and against what they are held."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from scipy.stats import binomtest, chisquare

from sim.diary.book import Diary
from sim.diary.entries import days_since
from sim.diary.forecast import UV_PART, Forecast, readings_of, renewals
from sim.scenario.scenario import Scenario

CAME, CHANGED, OPEN = "came", "changed first", "open"
BANDS = (0.5, 0.8, 0.9)
LEAST_TOLD, LEAST_PIT, PIT_BINS = 8, 20, 5
_RESAMPLED, _SEED = 2000, 1_414_213


@dataclass(frozen=True)
class Scored:
    """One forecast and what came.

    Attributes
    ----------
    forecast : Forecast
        As it was made.
    outcome : str
        "came" (or the horizon passed), "changed first" or "open".
    days : float
        Days to the event, to the change, or to now.
    crps_days, prior_crps_days, calendar_crps_days, line_crps_days : float
        Days; 0 where nothing came yet.
    brier : float
        Of "it comes before the change", where it was changed first.
    pit : float
        Share of members below what came.
    late : bool
        Whether it came before the date that was advised.
    """

    forecast: Forecast
    outcome: str
    days: float
    crps_days: float
    prior_crps_days: float
    calendar_crps_days: float
    line_crps_days: float
    brier: float
    pit: float
    late: bool


@dataclass(frozen=True)
class Coverage:
    """How often what came fell in a band: its share in name, hits of so many, exact bounds of 95 %."""

    named_share: float
    hits: int
    count: int
    low: float
    high: float


@dataclass(frozen=True)
class Score:
    """What came of all forecasts of a house.

    Attributes
    ----------
    count, changed, open_count : int
        Forecasts that came, whose part was changed first, and that are open.
    crps_days : float
        Mean closeness.
    coverage : tuple of Coverage
        Of the bands of 50, 80 and 90 %.
    pit_probability : float
        Chance of ranks as uneven as these if the bands were right; nan below 20 forecasts.
    skill : dict of str to tuple
        1 - CRPS over that of "calendar", "prior" and "line": estimate, low, high of 90 %, by part.
    late_share : float
        Share that came before the date advised.
    brier : float
        Mean of those changed first; nan where there is none.
    """

    count: int
    changed: int
    open_count: int
    crps_days: float
    coverage: tuple[Coverage, ...]
    pit_probability: float
    skill: dict[str, tuple[float, float, float]]
    late_share: float
    brier: float


def crps(members: Sequence[float], came: float) -> float:
    """Return the continuous ranked probability score of an ensemble of like members.

    Parameters
    ----------
    members : sequence of float
        The ensemble, in any unit.
    came : float
        What came, in the same unit.

    Returns
    -------
    float
        Mean |x - y| less half the mean |x - x'|, in the same unit; |x - y| for one member.

    References
    ----------
    Gneiting & Raftery 2007, J. Am. Stat. Assoc. 102:359, eq. 21.

    Examples
    --------
    >>> crps([1.0, 3.0], 2.0)
    0.5
    """
    x = np.sort(np.asarray(members, dtype=np.float64))
    n = x.size
    spread = float(((2.0 * np.arange(1, n + 1) - n - 1.0) * x).sum()) / n**2
    return float(np.abs(x - came).mean()) - spread


def came_of(forecast: Forecast, scenario: Scenario, diary: Diary, today: date) -> tuple[str, float]:
    """Return what came of a forecast by the diary, and the days to it from the end of the day it was made.

    Notes
    -----
    A reading past the limit says that it came: between this reading and the one before, where a line through
    the two passes. After a renewal nothing more is known of it; beyond the horizon it counts as the horizon.
    """
    rising = forecast.part != UV_PART
    gone = [day for day in renewals(scenario, diary, forecast.part, forecast.made) if day > 1.0]
    changed = gone[0] - 1.0 if gone else np.inf
    fresh = [day for day in renewals(scenario, diary, forecast.part, forecast.made) if day <= 1.0]
    begun = fresh[-1] if fresh else -np.inf
    before: tuple[float, float] | None = None
    for one in readings_of(diary, forecast.part):
        days, value = days_since(forecast.made, one.at) - 1.0, one.value
        if days + 1.0 < begun:
            continue
        if days > min(changed, forecast.horizon_days):
            break
        if days > 0.0 and (value > forecast.limit) == rising and value != forecast.limit:
            return CAME, _crossing(before, (days, value), forecast)
        before = (days, value)
    passed = float((today - forecast.made).days)
    if changed < min(forecast.horizon_days, passed + 1.0):
        return CHANGED, changed
    if passed >= forecast.horizon_days:
        return CAME, forecast.horizon_days
    return OPEN, passed


def _crossing(before: tuple[float, float] | None, after: tuple[float, float], forecast: Forecast) -> float:
    if before is None or before[1] == after[1]:
        return max(after[0], 0.0)
    share = (forecast.limit - before[1]) / (after[1] - before[1])
    found = before[0] + min(max(share, 0.0), 1.0) * (after[0] - before[0])
    return min(max(found, 0.0), forecast.horizon_days)


def scored(
    forecasts: Sequence[Forecast], scenario: Scenario, diary: Diary, today: date
) -> tuple[Scored, ...]:
    """Return every forecast with what came of it."""
    return tuple(_scored(one, *came_of(one, scenario, diary, today)) for one in forecasts)


def _scored(one: Forecast, outcome: str, days: float) -> Scored:
    if outcome != CAME:
        brier = float(np.mean(np.asarray(one.members) <= days)) ** 2 if outcome == CHANGED else np.nan
        return Scored(one, outcome, days, 0.0, 0.0, 0.0, 0.0, brier, np.nan, False)
    members = np.asarray(one.members)
    pit = float((members < days).mean() + 0.5 * (members == days).mean())
    return Scored(
        one,
        outcome,
        days,
        crps(one.members, days),
        crps(one.prior, days),
        abs(one.calendar_days - days),
        abs(one.line_days - days),
        np.nan,
        pit,
        days < one.advised_days,
    )


def score(found: Sequence[Scored]) -> Score:
    """Return what came of all forecasts together."""
    came = [one for one in found if one.outcome == CAME]
    changed = [one for one in found if one.outcome == CHANGED]
    n = len(came)
    return Score(
        n,
        len(changed),
        len(found) - n - len(changed),
        float(np.mean([one.crps_days for one in came])) if n else np.nan,
        tuple(_coverage(came, share) for share in BANDS),
        _pit_probability(came),
        {name: _skill(came, f"{name}_crps_days") for name in ("calendar", "prior", "line")} if n else {},
        float(np.mean([one.late for one in came])) if n else np.nan,
        float(np.mean([one.brier for one in changed])) if changed else np.nan,
    )


def _coverage(came: Sequence[Scored], share: float) -> Coverage:
    low, high = 0.5 - 0.5 * share, 0.5 + 0.5 * share
    hits = 0
    for one in came:
        bounds = np.quantile(one.forecast.members, [low, high])
        hits += bool(bounds[0] <= one.days <= bounds[1])
    if not came:
        return Coverage(share, 0, 0, 0.0, 1.0)
    exact = binomtest(hits, len(came)).proportion_ci(0.95, "exact")
    return Coverage(share, hits, len(came), float(exact.low), float(exact.high))


def _pit_probability(came: Sequence[Scored]) -> float:
    if len(came) < LEAST_PIT:
        return float("nan")
    counts = np.histogram([one.pit for one in came], PIT_BINS, (0.0, 1.0))[0]
    return float(chisquare(counts).pvalue)


def _skill(came: Sequence[Scored], name: str) -> tuple[float, float, float]:
    """Return 1 - CRPS over a reference's, with bounds from parts drawn anew: theirs overlap in time."""
    own = np.array([one.crps_days for one in came])
    other = np.array([getattr(one, name) for one in came])
    blocks = [one.forecast.part for one in came]
    names = sorted(set(blocks))
    place = np.array([names.index(block) for block in blocks])
    own_of, other_of = np.bincount(place, own), np.bincount(place, other)
    if other_of.sum() <= 0.0:
        return (0.0, 0.0, 0.0)
    estimate = 1.0 - own_of.sum() / other_of.sum()
    drawn = np.random.default_rng(np.random.SeedSequence(_SEED)).integers(
        0, len(names), (_RESAMPLED, len(names))
    )
    below = np.maximum(other_of[drawn].sum(axis=1), 1e-12)
    low, high = np.quantile(1.0 - own_of[drawn].sum(axis=1) / below, [0.05, 0.95])
    return float(estimate), float(low), float(high)
