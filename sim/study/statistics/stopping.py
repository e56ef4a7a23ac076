"""When enough replications were run: the differences are known well enough, and have been for a while."""

import math
from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sim.errors import InputError
from sim.study.statistics.intervals import bonferroni
from sim.study.statistics.stopped import stopped_interval
from sim.study.wording import counted, given, named, number

FIRST_LOOK = 20  # runs; from 10 on, as often advised, early luck took up to a point of coverage in trials
LOOK_AHEAD_CHECKS = 5  # kLimit of Hoad, Robinson & Davies 2010


def look_ahead(runs: int) -> int:
    """Return for how many further runs a half-width must hold once it was met.

    Parameters
    ----------
    runs : int
        Runs after which it was first met [at least 1].

    Returns
    -------
    int
        5 up to 100 runs, then 5 % of the runs.

    References
    ----------
    Hoad, Robinson & Davies 2010, J. Oper. Res. Soc. 61:1632: kLimit max(n, 100) / 100.

    Examples
    --------
    >>> look_ahead(40), look_ahead(240)
    (5, 12)
    """
    return LOOK_AHEAD_CHECKS * max(runs, 100) // 100


def enough(
    differences_by_policy: Mapping[str, ArrayLike],
    half_width_wanted: float,
    confidence: float,
    currency: str = "",
) -> tuple[bool, str]:
    """Return whether the runs so far settle every cost difference to the reference, and why in a sentence.

    Parameters
    ----------
    differences_by_policy : mapping of str to array_like
        Yearly cost less that of the reference, per policy, in the order of replications; where policies are
        not equally far, only the replications all have finished count.
    half_width_wanted : float
        Half-width every difference is wanted within [money/year, above 0].
    confidence : float
        Confidence of all differences together (Bonferroni) [fraction, between 0 and 1].
    currency : str
        Name of the money, for the sentence.

    Returns
    -------
    tuple of bool and str
        True once the widest half-width is within what is wanted and has been for `look_ahead` further runs.

    Notes
    -----
    The first check is after 20 runs. Values come in the order of replications, not as workers finish them:
    else quick (quiet) runs come first. Half-widths are those of `stopped_interval`, which a study that
    stopped here also reports: coverage is said there.

    References
    ----------
    Hoad, Robinson & Davies 2010, J. Oper. Res. Soc. 61:1632, applied to the half-width of a difference.
    """
    if not half_width_wanted > 0:
        raise InputError(f"half-width wanted is {half_width_wanted:g}; wanted above 0")
    each = bonferroni(confidence, len(differences_by_policy))
    if not differences_by_policy:
        return True, "There is no other policy to compare with the reference."
    samples = {name: np.asarray(values, dtype=np.float64) for name, values in differences_by_policy.items()}
    runs = min(sample.size for sample in samples.values())
    if runs < FIRST_LOOK:
        return False, f"After {counted(runs, 'run')}: too few to judge, at least {FIRST_LOOK} are wanted."
    unit = f" {currency} a year" if currency else " a year"
    widest, name = _widest(samples, runs, each)
    found = (
        f"the widest difference, of {named(name)}, is known to ± {number(widest)}{unit} after {runs} runs"
        f" (± {given(half_width_wanted)} wanted)"
    )
    if widest > half_width_wanted:
        ratio = (widest / half_width_wanted) ** 2
        return (
            False,
            f"Not yet: {found}; at this spread about {number(math.ceil(runs * ratio))} runs would do.",
        )
    held = _held(samples, runs, each, half_width_wanted)
    needed = look_ahead(runs - held)
    if held < needed:
        return False, f"Not yet: {found}, but that has held for {held} of {needed} further runs."
    return True, f"Enough: {found}, and that has held for {counted(held, 'further run')}."


def _widest(samples: Mapping[str, NDArray[np.float64]], runs: int, confidence: float) -> tuple[float, str]:
    """Return the widest half-width after this many runs and whose it is."""
    return max(
        (stopped_interval(sample[:runs], np.zeros(runs), confidence).half_width, name)
        for name, sample in samples.items()
    )


def _held(
    samples: Mapping[str, NDArray[np.float64]], runs: int, confidence: float, half_width_wanted: float
) -> int:
    """Return for how many runs, after the first such, the half-width has been within what is wanted."""
    first = runs
    # From the latest run back, so that an early lucky stretch which was lost again does not count.
    while first > FIRST_LOOK and _widest(samples, first - 1, confidence)[0] <= half_width_wanted:
        first -= 1
    return runs - first
