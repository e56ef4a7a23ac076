"""What a year can hold: bounds of days and hours a year are drawn in to it."""

from dataclasses import replace

from sim.study.statistics.intervals import Interval

_LONGEST_D = 366.0  # a year that has a 29 February
_DAY_H = 24.0


def days_of_year(interval: Interval) -> Interval:
    """Return an interval of days a year, or of a difference of such, without what no year can hold.

    Parameters
    ----------
    interval : Interval
        Such as of days below the dose target [d/year].

    Returns
    -------
    Interval
        Its bounds no further from 0 than a leap year is long; where there are none, as it was. The
        confidence holds, as nothing that can be true is left out.

    Examples
    --------
    >>> days_of_year(Interval(60.0, -12.0, 540.0, 0.95, "Student t", 4)).high
    366.0
    """
    return _within(interval, _LONGEST_D)


def hours_of_year(interval: Interval) -> Interval:
    """Return an interval of hours a year without what no year can hold.

    Parameters
    ----------
    interval : Interval
        Such as of water-off hours [h/year].

    Examples
    --------
    >>> hours_of_year(Interval(3000.0, 0.0, 9000.0, 0.95, "Student t", 4)).high
    8784.0
    """
    return _within(interval, _DAY_H * _LONGEST_D)


def _within(interval: Interval, most: float) -> Interval:
    if not interval.known:
        return interval
    return replace(interval, low=max(interval.low, -most), high=min(interval.high, most))
