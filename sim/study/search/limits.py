"""Which arms keep within the limits, by one-sided bounds: shown within, shown over, or not settled."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy import special

from sim.scenario.care import Goals
from sim.study.search.pool import DAYS_COUNTED, Arm, Floats, Pool
from sim.study.statistics.intervals import upper_bound_when_none_seen

Standing = Literal["within", "over", "not settled"]


@dataclass(frozen=True)
class Bound:
    """A column of the rows that has a limit."""

    column: str
    limit: float
    least: bool = False  # whether the mean may not be below it, in place of above
    name: str = ""  # what people call it

    def beyond(self, sample: Floats) -> float:
        """Return how far the mean of a sample lies beyond the limit; below 0 within it."""
        mean = float(sample.mean())
        return self.limit - mean if self.least else mean - self.limit

    def bounds_beyond(self, sample: Floats, years: float, error: float) -> tuple[float, float]:
        """Return the one-sided bounds of how far the mean lies beyond the limit, each at an error."""
        low, high = one_sided(sample, years, error)
        return (self.limit - high, self.limit - low) if self.least else (low - self.limit, high - self.limit)


@dataclass(frozen=True)
class Limits:
    """What is accepted, as means a year, and the pressure that 19 of 20 draws are to have."""

    days_below_target: float  # days below the dose target
    water_off_h: float = float("inf")
    alarm_h: float = float("inf")
    tap_pa: float = float("-inf")  # mean over the runs of the 5th percentile of the draws' pressure

    def bounds(self) -> list[Bound]:
        """Return the columns that have a limit."""
        every = [
            Bound(DAYS_COUNTED, self.days_below_target, name="days below the dose target"),
            Bound("water_off_h", self.water_off_h, name="water-off hours"),
            Bound("alarm_h", self.alarm_h, name="hours of alarm"),
            Bound("tap_p5_pa", self.tap_pa, True, "pressure at the tap"),
        ]
        return [one for one in every if np.isfinite(one.limit)]


def limits_of(goals: Goals) -> Limits:
    """Return the limits a site states."""
    return Limits(goals.limit_days_below_target, goals.limit_water_off_h, goals.most_alarm_h)


def one_sided(sample: Floats, years: float, error: float) -> tuple[float, float]:
    """Return the lower and the upper bound of a mean that cannot be negative, each by itself.

    Parameters
    ----------
    sample : ndarray
        One value per replication, at least 2.
    years : float
        Length of a run [year].
    error : float
        Chance of each bound to fail [fraction].

    Returns
    -------
    tuple of float
        Bounds, in the unit of the sample.

    Notes
    -----
    Student t. Where no run showed any, the exact bound of the share of runs, with one such day in a run that
    has any, as `comparison` has it. Skewed samples with few runs that differ from zero are covered
    less well than the error says: the t bound knows no tail it has not seen.
    """
    n = sample.size
    mean, sd = float(sample.mean()), float(sample.std(ddof=1))
    if not sample.any():
        return 0.0, upper_bound_when_none_seen(n, 1.0 - error) / years
    half = float(special.stdtrit(n - 1, 1.0 - error)) * sd / n**0.5
    return max(0.0, mean - half), mean + half


def standings(
    pool: Pool, arms: list[Arm], first: int, stop: int, limits: Limits, error: float
) -> dict[Arm, Standing]:
    """Return how arms stand to the limits.

    Parameters
    ----------
    pool : Pool
        Rows of all arms in these replications.
    first, stop : int
        Replications `first` to `stop` - 1.
    limits : Limits
        What is accepted.
    error : float
        Chance that any arm is put on a wrong side [fraction]; shared out evenly (Bonferroni).

    Returns
    -------
    dict
        Standing by arm; "within" when every bound is, "over" when any is surely beyond.
    """
    bounds = limits.bounds()
    each = error / max(1, len(arms) * len(bounds))
    years = float(np.nanmin(pool.sample(arms, first, stop, "years"))) if arms else 1.0
    found: dict[Arm, Standing] = dict.fromkeys(arms, "within")
    for one in bounds:
        for arm, sample in zip(arms, pool.sample(arms, first, stop, one.column), strict=True):
            low, high = one.bounds_beyond(sample, years, each)
            if low > 0.0:
                found[arm] = "over"
            elif not high <= 0.0 and found[arm] != "over":  # also where nothing was drawn
                found[arm] = "not settled"
    return found


def put_out(pool: Pool, arms: list[Arm], limits: Limits) -> dict[str, int]:
    """Return how many of the arms that are over a limit lie beyond each, by the mean of all their runs."""
    found: dict[str, int] = {}
    for one in limits.bounds():
        count = sum(one.beyond(np.array(list(pool.whole(arm, one.column).values()))) > 0.0 for arm in arms)
        found |= {one.name: count} if count else {}
    return found
