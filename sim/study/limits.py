"""How much may be asked of one study, so that a slip of the finger is refused instead of filling the machine."""

import math

from sim.errors import InputError

MOST_YEARS = 50  # as in a scenario
MOST_REPLICATIONS = 1_000_000
MOST_WORKERS = 256


def in_range(name: str, value: int, least: int, most: float = math.inf) -> None:
    """Refuse a number that is too small or too large.

    Parameters
    ----------
    name : str
        What it is, as people know it.
    value : int
        The number.
    least : int
        The smallest that will do.
    most : float
        The largest that will do.

    Raises
    ------
    InputError
        When it is outside.
    """
    if value < least:
        raise InputError(f"{name} is {_written(value)}; wanted {least} or more")
    if value > most:
        raise InputError(f"{name} is {_written(value)}; wanted {most:,.0f} at most")


def _written(value: int) -> str:
    return str(value) if abs(value) < 10**18 else "a number of more than 18 digits"
