"""Means of counts that most runs do not have: bounds that hold when few runs, or none, had any.

Resampling, and any formula from mean and spread, know nothing of what was not seen. Here every run that had
any is one event of a Poisson process, as large as what it had, and one more such event, as large as the
largest, may have been missed.
"""

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from sim.errors import InputError
from sim.study.statistics.intervals import Interval, bonferroni
from sim.study.wording import number

ENOUGH_AFFECTED = 20  # runs that had any; from here on mean, spread and skewness are known well enough
SPREAD_OUT = 0.75  # share of runs that had any, from which on a count is not a rare one


def is_rare(counts: ArrayLike) -> bool:
    """Return whether too few runs had any for mean, spread and skewness to tell the bounds.

    Parameters
    ----------
    counts : array_like
        One value per replication; zero where there was none.

    Returns
    -------
    bool
        True when fewer than 20 runs, and fewer than three in four, had any.

    Examples
    --------
    >>> is_rare([0.0] * 31 + [4.0] * 9), is_rare([3.0] * 9 + [0.0])
    (True, False)
    """
    sample = np.asarray(counts, dtype=np.float64)
    affected = int(np.count_nonzero(sample))
    return affected < min(float(ENOUGH_AFFECTED), SPREAD_OUT * sample.size)


def rare_interval(counts: ArrayLike, unseen: float, confidence: float) -> Interval:
    """Return the mean of counts that few runs had, with bounds from the gamma law.

    Parameters
    ----------
    counts : array_like
        One value per replication, none below zero.
    unseen : float
        What a run that has any may have without it having been seen, at least; the largest seen counts when
        it is more.
    confidence : float
        Two-sided confidence [fraction, between 0 and 1].

    Returns
    -------
    Interval
        Mean with its bounds, in the unit of `counts`.

    Notes
    -----
    With sum y and sum of squares v of the counts and w the greater of `unseen` and the largest, the bounds of
    the sum are the quantiles of the gamma law of mean y and variance v below, of mean y + w and variance
    v + w^2 above. For counts that are all w they are the exact ones of Garwood for a Poisson count, and with
    none seen the upper one is -ln(tail) w, the rule of three at 95 % to one side.
    Conservative by construction while no run has more than w: runs with any are fewer than Poisson, and every
    unseen one is taken to be the largest. Where runs may have far more than w, and none of those was seen, no
    bound from the sample can hold.

    References
    ----------
    Fay & Feuer 1997, Stat. Med. 16:791 (gamma intervals of weighted sums of Poisson counts); Garwood 1936,
    Biometrika 28:437; both from memory.

    Examples
    --------
    None of 40 runs: 3.69 times 30 over 40.

    >>> found = rare_interval([0.0] * 40, 30.0, 0.95)
    >>> found.low, found.high
    (0.0, 2.7667)
    """
    sample = np.asarray(counts, dtype=np.float64)
    if sample.ndim != 1 or sample.size == 0 or not (np.isfinite(sample).all() and (sample >= 0).all()):
        raise InputError("a list of counts is wanted, each finite and not below 0")
    bonferroni(confidence, 1)  # refuses what is no confidence
    n, total, squares = sample.size, float(sample.sum()), float(sample @ sample)
    most, tail = max(unseen, float(sample.max())), (1 - confidence) / 2
    low = _quantile(tail, total, squares) / n if total > 0 else 0.0
    high = _quantile(1 - tail, total + most, squares + most * most) / n
    reason = f"{np.count_nonzero(sample)} of {n} runs had any; one more, unseen, may have had {number(most)}"
    return Interval(total / n, low, high, confidence, "gamma, Fay and Feuer", n, reason)


def rare_difference(x: ArrayLike, y: ArrayLike, unseen: float, confidence: float) -> Interval:
    """Return the mean of x - y over pairs few of which differ.

    Parameters
    ----------
    x : array_like
        Counts, one per replication.
    y : array_like
        The partner of each, in the same order.
    unseen : float
        As for `rare_interval`.
    confidence : float
        Two-sided confidence [fraction, between 0 and 1].

    Returns
    -------
    Interval
        What is more in `x` less what is more in `y`, each bounded by `rare_interval`, the error shared.
    """
    difference = np.asarray(x, dtype=np.float64) - np.asarray(y, dtype=np.float64)
    each = bonferroni(confidence, 2)
    more = rare_interval(np.maximum(difference, 0.0), unseen, each)
    less = rare_interval(np.maximum(-difference, 0.0), unseen, each)
    differ = int(np.count_nonzero(difference))
    return Interval(
        more.estimate - less.estimate,
        more.low - less.high,
        more.high - less.low,
        confidence,
        "paired gamma, Fay and Feuer, Bonferroni",
        difference.size,
        f"only {differ} of {difference.size} pairs differ; the bounds allow for one more, unseen, either way",
    )


def _quantile(level: float, mean: float, variance: float) -> float:
    return float(special.gammaincinv(mean * mean / variance, level) * (variance / mean))
