"""How days differ: how busy a day is, who is away, who visits."""

import numpy as np
import numpy.typing as npt

from sim.constants import YEAR_DAYS

Floats = npt.NDArray[np.float64]
_LEAD_SPANS = 20  # spells may have begun this many mean lengths before the run; longer ones are beyond notice


def day_factors(n_days: int, cv: float, rng: np.random.Generator) -> Floats:
    """Draw how busy each day is.

    Parameters
    ----------
    n_days : int
        Number of days.
    cv : float
        Coefficient of variation of the factor [-], >= 0.
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    numpy.ndarray
        Factors [-], gamma with mean 1, independent from day to day, float64[n_days].

    Notes
    -----
    A Poisson count of mean m times such a factor has variance m + (cv m)^2. The size of cv is an assumption.

    References
    ----------
    Buchberger & Wells (1996), J. Water Resour. Plan. Manage. 122(1), 11-19: the variance of daily pulse
    counts is too high for Poisson.

    Examples
    --------
    >>> day_factors(2, 0.0, np.random.default_rng(1)).tolist()
    [1.0, 1.0]
    """
    if cv < 1e-6:  # nothing anyone could notice, and its square would leave the floats
        return np.ones(n_days)
    return rng.gamma(1.0 / (cv * cv), cv * cv, n_days)


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
        Number of days.
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
