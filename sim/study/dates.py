"""Dates as people write them."""

from datetime import date


def spelled(on: date) -> str:
    """Return a date in full.

    Examples
    --------
    >>> spelled(date(2027, 6, 2))
    '2 June 2027'
    """
    return f"{on.day} {on:%B %Y}"


def brief(on: date, today: date) -> str:
    """Return a date in short, with its year where it is another one.

    Examples
    --------
    >>> brief(date(2027, 6, 2), date(2027, 5, 1)), brief(date(2028, 6, 2), date(2027, 5, 1))
    ('2 June', '2 June 2028')
    """
    return f"{on.day} {on:%B}" + ("" if on.year == today.year else f" {on.year}")
