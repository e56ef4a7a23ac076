"""Intervals for means, differences, shares and the gap to the best, from few and ugly numbers.

A number without its interval is not a finding. Where none can be given (one run) the bounds are nan and
`reason` says why; where the spread seen was nil the interval has no width and `reason` says that too.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special  # scipy.stats gives the same digits and takes half a second to load

from sim.errors import InputError

FEW_RUNS = 10  # below this, tails are guessed rather than seen (Law's n0 >= 10, from memory)
ROUNDING = 1e-12  # relative; two sums of the same money differ by less than this only through rounding
_NO_SKEWNESS = 1e-6  # below it the cubic is a straight line to the last digits


@dataclass(frozen=True)
class Interval:
    """An estimate with its bounds."""

    estimate: float  # sample mean, share or difference
    low: float  # bounds; nan where none can be given
    high: float
    confidence: float  # confidence of this interval by itself [fraction]
    method: str  # how the bounds were found, in words
    n: int  # runs behind it
    reason: str = ""  # why bounds are missing or to be read with care; empty otherwise

    @property
    def known(self) -> bool:
        """Whether both bounds could be given."""
        return math.isfinite(self.low) and math.isfinite(self.high)

    @property
    def half_width(self) -> float:
        """Half the distance between the bounds; nan where there are none."""
        return (self.high - self.low) / 2


def bonferroni(confidence: float, comparisons: int) -> float:
    """Return the confidence each of several intervals needs so that all hold together.

    Parameters
    ----------
    confidence : float
        Confidence wanted of all together [fraction, between 0 and 1].
    comparisons : int
        Number of intervals; none counts as one.

    Returns
    -------
    float
        1 - (1 - confidence) / comparisons [fraction].

    Examples
    --------
    >>> round(bonferroni(0.95, 5), 6)
    0.99
    """
    _check_confidence(confidence)
    return 1 - (1 - confidence) / max(comparisons, 1)


def differences(x: ArrayLike, y: ArrayLike) -> NDArray[np.float64]:
    """Return x - y by pairs, with what is only rounding set to zero.

    Parameters
    ----------
    x : array_like
        One value per replication.
    y : array_like
        The partner of each value of `x`, in the same order.

    Returns
    -------
    ndarray
        Differences, in the unit of `x`.
    """
    first, second = _sample(x), _sample(y)
    if first.size != second.size:
        raise InputError(f"pairs are wanted, got {first.size} and {second.size} values")
    difference = first - second
    difference[np.abs(difference) <= ROUNDING * np.maximum(np.abs(first), np.abs(second))] = 0.0
    return difference


def mean_interval(x: ArrayLike, confidence: float) -> Interval:
    """Return the mean of independent runs with Student's t interval.

    Parameters
    ----------
    x : array_like
        One value per replication.
    confidence : float
        Two-sided confidence [fraction, between 0 and 1].

    Returns
    -------
    Interval
        Mean +/- t(n - 1) s / sqrt(n), in the unit of `x`.

    Notes
    -----
    Exact for normal values; for skewed ones only as good as the central limit theorem makes it at this n.

    References
    ----------
    Student 1908, Biometrika 6:1.

    Examples
    --------
    >>> found = mean_interval([1.0, 2.0, 3.0, 4.0, 5.0], 0.95)
    >>> round(found.low, 4), round(found.high, 4)
    (1.0368, 4.9632)
    """
    return _t_interval(_sample(x), confidence, "Student t")


def paired_interval(x: ArrayLike, y: ArrayLike, confidence: float) -> Interval:
    """Return the mean of x - y over pairs that met the same weather, draws and failures.

    Parameters
    ----------
    x : array_like
        One value per replication.
    y : array_like
        The partner of each value of `x`, in the same order.
    confidence : float
        Two-sided confidence [fraction, between 0 and 1].

    Returns
    -------
    Interval
        Mean difference with Student's t interval, in the unit of `x`.

    Notes
    -----
    Neither equal variances nor independence between `x` and `y` is needed, only pairs independent of pairs.

    Examples
    --------
    >>> paired_interval([3.0, 5.0, 7.0], [1.0, 2.0, 6.0], 0.95).estimate
    2.0
    """
    return _t_interval(differences(x, y), confidence, "paired Student t")


def skewed_interval(x: ArrayLike, confidence: float) -> Interval:
    """Return the mean of skewed values with an interval from which the skewness was taken.

    Parameters
    ----------
    x : array_like
        One value per replication.
    confidence : float
        Two-sided confidence [fraction, between 0 and 1].

    Returns
    -------
    Interval
        Mean with bounds that lie further on the side of the long tail, in the unit of `x`; the lower one is
        not below zero where no value is.

    Notes
    -----
    With g the sample skewness and t = (mean - mu) / s, the cubic t + g t^2 / 3 + g^2 t^3 / 27 + g / (6 n) is
    free of the error that skewness makes, to the order 1/n, and can be inverted in closed form:
    mu = mean - s (3/g) [cbrt(1 + g (y - g / (6 n))) - 1] at y = +/- t(n - 1) / sqrt(n). Student's quantile in
    place of the normal one makes it Student's interval where there is no skewness. Few runs do not show what
    the tail is like: of a variation twice the mean (lognormal) it covers 91 to 93 in 100 at 40 to 100 runs.

    References
    ----------
    Hall 1992, J. R. Stat. Soc. B 54:221 (on the removal of skewness by transformation; from memory).

    Examples
    --------
    >>> found = skewed_interval([1.0, 2.0, 3.0, 4.0, 5.0], 0.95)  # no skewness: as Student's
    >>> round(found.low, 4), round(found.high, 4)
    (1.0368, 4.9632)
    """
    return _skewed(_sample(x), confidence, "")


def paired_skewed_interval(x: ArrayLike, y: ArrayLike, confidence: float) -> Interval:
    """Return the mean of x - y over pairs with an interval from which the skewness was taken.

    Parameters
    ----------
    x : array_like
        One value per replication.
    y : array_like
        The partner of each value of `x`, in the same order.
    confidence : float
        Two-sided confidence [fraction, between 0 and 1].

    Returns
    -------
    Interval
        As `skewed_interval` of the differences.
    """
    return _skewed(differences(x, y), confidence, "paired ")


def proportion_interval(k: int, n: int, confidence: float) -> Interval:
    """Return the share k of n with the exact interval of Clopper and Pearson.

    Parameters
    ----------
    k : int
        Runs in which it was seen [0 to n].
    n : int
        Runs [at least 1].
    confidence : float
        Two-sided confidence [fraction, between 0 and 1].

    Returns
    -------
    Interval
        Share and bounds [fraction]; never covers less than it says.

    References
    ----------
    Clopper & Pearson 1934, Biometrika 26:404.

    Examples
    --------
    >>> found = proportion_interval(4, 20, 0.90)
    >>> round(found.low, 4), round(found.high, 4)
    (0.0714, 0.4010)
    """
    _check_confidence(confidence)
    _check_count(k, n)
    tail = (1 - confidence) / 2
    low = float(special.betaincinv(k, n - k + 1, tail)) if k > 0 else 0.0
    high = float(special.betaincinv(k + 1, n - k, 1 - tail)) if k < n else 1.0
    return Interval(k / n, low, high, confidence, "Clopper-Pearson", n)


def proportion_upper_bound(k: int, n: int, confidence: float) -> float:
    """Return the exact one-sided upper bound of a share.

    Parameters
    ----------
    k : int
        Runs in which it was seen [0 to n].
    n : int
        Runs [at least 1].
    confidence : float
        One-sided confidence [fraction, between 0 and 1].

    References
    ----------
    Clopper & Pearson 1934, Biometrika 26:404.
    """
    _check_count(k, n)
    if k == 0:
        return upper_bound_when_none_seen(n, confidence)
    _check_confidence(confidence)
    return float(special.betaincinv(k + 1, n - k, confidence)) if k < n else 1.0


def upper_bound_when_none_seen(n: int, confidence: float = 0.95) -> float:
    """Return the upper bound of a share when none of n runs showed it.

    Parameters
    ----------
    n : int
        Runs [at least 1].
    confidence : float
        One-sided confidence [fraction, between 0 and 1].

    Returns
    -------
    float
        1 - (1 - confidence)^(1/n) [fraction]; near 3/n at 95 %.

    References
    ----------
    Hanley & Lippman-Hand 1983, JAMA 249:1743 (the 3/n rule; the exact form is theirs too, from memory).

    Examples
    --------
    >>> round(upper_bound_when_none_seen(40), 4)
    0.0722
    """
    _check_confidence(confidence)
    _check_count(0, n)
    return -math.expm1(math.log1p(-confidence) / n)


def best_gap_intervals(
    values: Mapping[str, ArrayLike],
    confidence: float,
    comparisons: int | None = None,
    paired: Callable[[ArrayLike, ArrayLike, float], Interval] = paired_interval,
) -> dict[str, Interval]:
    """Return, for each name, the interval of its mean less the least mean of the others.

    Parameters
    ----------
    values : mapping of str to array_like
        Values per replication, all in the same order of replications; smaller is better.
    confidence : float
        Confidence of the whole finding [fraction, between 0 and 1].
    comparisons : int, optional
        Comparisons to allow for; one a rival unless more were in the running before some were ruled out.
    paired : callable
        Interval of one paired difference at a confidence.

    Returns
    -------
    dict of str to Interval
        A lower bound above zero says: not the best. At or below zero: not distinguishable from the best.
        Empty for fewer than two names.

    Notes
    -----
    mu_i - min mu_l is the greatest mu_i - mu_l over l other than i, so the greatest bounds of the paired
    intervals are taken, each at 1 - (1 - confidence) / comparisons. The true best is wrongly excluded only if
    one of its own comparisons fails, so as many as there are rivals are allowed for; that the upper bounds
    (or zero) hold together follows from the same comparisons. Any dependence between the values is allowed.

    References
    ----------
    Multiple comparisons with the best: Hsu 1984, Ann. Stat. 12:1136; under common random numbers: Nelson &
    Matejcik 1995, Manage. Sci. 41:1935 (both from memory). Bonferroni is wider than theirs and assumes less.
    """
    names = list(values)
    each = bonferroni(confidence, len(names) - 1 if comparisons is None else comparisons)
    gaps: dict[str, Interval] = {}
    for name in names:
        rivals = [paired(values[name], values[other], each) for other in names if other != name]
        if rivals:
            gaps[name] = Interval(
                max(rival.estimate for rival in rivals),
                max(rival.low for rival in rivals),
                max(rival.high for rival in rivals),
                each,
                f"multiple comparisons with the best, {rivals[0].method}, Bonferroni",
                rivals[0].n,
                rivals[0].reason if rivals[0].n == 1 else "",
            )
    return gaps


def _t_interval(sample: NDArray[np.float64], confidence: float, method: str) -> Interval:
    _check_confidence(confidence)
    special = _without_spread(sample, confidence, method)
    if special is not None:
        return special
    n = sample.size
    mean = float(sample.mean())
    half = _student(confidence, n) * float(sample.std(ddof=1)) / math.sqrt(n)
    return Interval(mean, mean - half, mean + half, confidence, method, n)


def _skewed(sample: NDArray[np.float64], confidence: float, prefix: str) -> Interval:
    _check_confidence(confidence)
    method = prefix + "t without skewness"
    special = _without_spread(sample, confidence, method)
    if special is not None:
        return special
    n, mean, size = sample.size, float(sample.mean()), float(np.ptp(sample))
    scaled = (sample - mean) / size  # third powers of very small values would leave the floats
    skewness = float(np.mean(scaled**3) / np.mean(scaled**2) ** 1.5)
    spread = size * float(scaled.std(ddof=1))
    reach = _student(confidence, n) / math.sqrt(n)
    low, high = (mean - spread * _unskewed(y, skewness, n) for y in (reach, -reach))
    if sample.min() >= 0:
        low = max(low, 0.0)
    reason = f"{n} runs are too few to see the tails" if n < FEW_RUNS else ""
    return Interval(mean, low, high, confidence, method, n, reason)


@lru_cache(maxsize=4096)
def _student(confidence: float, n: int) -> float:
    """Return Student's two-sided quantile for n runs; looked up anew at every look, and slow to compute."""
    return float(special.stdtrit(n - 1, (1 + confidence) / 2))


def _unskewed(y: float, skewness: float, n: int) -> float:
    """Return where the cubic of `skewed_interval` has the value y."""
    if abs(skewness) < _NO_SKEWNESS:
        return y
    inner = 1 + skewness * (y - skewness / (6 * n))
    return 3 / skewness * (math.copysign(abs(inner) ** (1 / 3), inner) - 1)


def _without_spread(sample: NDArray[np.float64], confidence: float, method: str) -> Interval | None:
    """Return the interval of one run, or of runs that are all equal; None for any other sample."""
    mean = float(sample.mean())
    if sample.size == 1:
        return Interval(mean, math.nan, math.nan, confidence, method, 1, "one run: no interval can be given")
    if np.ptp(sample) == 0:
        value = float(sample[0])
        reason = f"all {sample.size} values are equal: no spread was seen, which does not show there is none"
        return Interval(value, value, value, confidence, method, sample.size, reason)
    return None


def _sample(x: ArrayLike) -> NDArray[np.float64]:
    sample = np.asarray(x, dtype=np.float64)
    if sample.ndim != 1 or sample.size == 0:
        raise InputError(f"a list of at least one value is wanted, got shape {sample.shape}")
    if not np.isfinite(sample).all():
        raise InputError(f"finite values are wanted, got {sample[~np.isfinite(sample)][0]}")
    return sample


def _check_confidence(confidence: float) -> None:
    if not 0 < confidence < 1:
        raise InputError(f"confidence is {confidence:g}; wanted a fraction between 0 and 1")


def _check_count(k: int, n: int) -> None:
    if n < 1 or not 0 <= k <= n:
        raise InputError(f"{k} of {n} runs is not a share; wanted 0 <= k <= n and n >= 1")
