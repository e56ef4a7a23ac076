"""How days differ: how busy a day is, who is away, who visits."""

import numpy as np
import numpy.typing as npt

from sim.constants import YEAR_DAYS

Floats = npt.NDArray[np.float64]
_LEAD_SPANS = 20  # spells may have begun this many mean lengths before the run; longer ones are beyond notice


def day_factors(n_days: int, cv: float, rng: np.random.Generator, kept_share: float = 0.0) -> Floats:
    """Draw how busy each day is.

    Parameters
    ----------
    n_days : int
    cv : float
        Coefficient of variation of the factor [-], >= 0.
    rng : numpy.random.Generator
        Source of randomness.
    kept_share : float
        Chance that a day keeps the factor of the day before [-], 0 to 1; also the correlation of the two.

    Returns
    -------
    numpy.ndarray
        Factors [-], gamma with mean 1, float64[n_days].

    Notes
    -----
    A Poisson count of mean m times such a factor has variance m + (cv m)^2. Days k apart correlate by
    kept_share^k.

    References
    ----------
    Buchberger & Wells (1996), J. Water Resour. Plan. Manage. 122(1), 11-19: the variance of daily pulse
    counts is too high for Poisson. Jacobs & Lewis (1978), J. R. Stat. Soc. B 40(1), 94-105 (a day kept by
    chance, discrete autoregression; from memory).

    Examples
    --------
    >>> day_factors(2, 0.0, np.random.default_rng(1)).tolist()
    [1.0, 1.0]
    """
    if cv < 1e-6:  # nothing anyone could notice, and its square would leave the floats
        return np.ones(n_days)
    factors = rng.gamma(1.0 / (cv * cv), cv * cv, n_days)
    if kept_share == 0.0:
        return factors
    drawn_on = np.where(rng.random(n_days) < kept_share, 0, np.arange(n_days))
    return factors[np.maximum.accumulate(drawn_on)]


def people_factors(people: Floats, cv: float, rng: np.random.Generator) -> Floats:
    """Draw how much each day's people use one thing, each person's day being his own.

    Parameters
    ----------
    people : numpy.ndarray
        People in the house on each day [-], float64[n_days], >= 0.
    cv : float
        Coefficient of variation of the factor of one person [-], >= 0.
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    numpy.ndarray
        Means over the people [-], gamma with mean 1 and cv/sqrt(people), float64[n_days]; 1 where nobody is.

    Examples
    --------
    >>> people_factors(np.array([0.0, 2.0]), 0.0, np.random.default_rng(1)).tolist()
    [1.0, 1.0]
    """
    if cv < 1e-6:
        return np.ones(people.size)
    shape = np.where(people > 0.0, people, 1.0) / (cv * cv)
    return np.where(people > 0.0, rng.standard_gamma(shape) / shape, 1.0)


def week_factors(n_days: int, weekday_of_day0: int, weekend_ratio: float) -> Floats:
    """Return how busy each day is by its place in the week.

    Parameters
    ----------
    n_days : int
    weekday_of_day0 : int
        Day of the week of the first day, 0 for Monday.
    weekend_ratio : float
        Use on a day of the weekend over that on another day [-], > 0.

    Returns
    -------
    numpy.ndarray
        Factors [-], of mean 1 over a week, float64[n_days].

    Examples
    --------
    >>> week_factors(3, 4, 2.0).round(4).tolist()
    [0.7778, 1.5556, 1.5556]
    """
    of_mean_1 = 7.0 / (5.0 + 2.0 * weekend_ratio)
    return np.where(weekend(n_days, weekday_of_day0), weekend_ratio, 1.0) * of_mean_1


def weekend(n_days: int, weekday_of_day0: int) -> npt.NDArray[np.bool_]:
    """Return which days are a Saturday or Sunday.

    Parameters
    ----------
    n_days : int
    weekday_of_day0 : int
        Day of the week of the first day, 0 for Monday.

    Returns
    -------
    numpy.ndarray
        Whether each day is of the weekend, bool[n_days].
    """
    days: npt.NDArray[np.bool_] = (weekday_of_day0 + np.arange(n_days)) % 7 >= 5
    return days


def _in_a_spell(
    n_days: int, per_year: float, mean_days: float, rng: np.random.Generator
) -> npt.NDArray[np.bool_]:
    """Mark the days in at least one spell; spells begin at random and last a geometric number of days."""
    lead = int(np.ceil(_LEAD_SPANS * mean_days))
    first = rng.integers(-lead, n_days, rng.poisson(per_year / YEAR_DAYS * (n_days + lead)))
    last = first + rng.geometric(1.0 / mean_days, first.size)
    change = np.zeros(n_days + 1, dtype=np.int64)
    np.add.at(change, np.clip(first, 0, n_days), 1)
    np.add.at(change, np.clip(last, 0, n_days), -1)
    return np.cumsum(change)[:-1] > 0


def presence(
    n_days: int,
    people: float,
    away_spans_per_year: float,
    away_days_mean: float,
    guest_visits_per_year: float,
    guest_days_mean: float,
    guests_per_visit: float,
    rng: np.random.Generator,
) -> Floats:
    """Draw how many people are in the house on each day.

    Parameters
    ----------
    n_days : int
    people : float
        People who live there [-], >= 0.
    away_spans_per_year : float
        How often the house stands empty [1/yr], >= 0.
    away_days_mean : float
        Mean length of such a span [d], >= 1.
    guest_visits_per_year : float
        How often guests come [1/yr], >= 0.
    guest_days_mean : float
        Mean length of a visit [d], >= 1.
    guests_per_visit : float
        People more in the house during visits [-], >= 0.
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    numpy.ndarray
        People in the house [-], float64[n_days]; 0 while the household is away, guests or not.

    Notes
    -----
    Spans begin as a Poisson process, last a geometric number of days and may overlap, so a day is free of
    them with probability exp(-rate x mean length). All of this is an assumption. Spans may begin before the
    run.

    Examples
    --------
    >>> presence(3, 2.0, 0.0, 7.0, 0.0, 3.0, 2.0, np.random.default_rng(1)).tolist()
    [2.0, 2.0, 2.0]
    """
    away = _in_a_spell(n_days, away_spans_per_year, away_days_mean, rng)
    visit = _in_a_spell(n_days, guest_visits_per_year, guest_days_mean, rng)
    return np.where(away, 0.0, people + guests_per_visit * visit)
