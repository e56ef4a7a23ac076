"""How much may be asked of one study: a slip of the finger is refused before it fills the machine."""

from sim.errors import InputError

MOST_REPLICATIONS = 1_000_000
MOST_WORKERS = 256
MOST_DRAWS = 2_000  # of what is uncertain: each is a site of its own, of a megabyte


def in_range(name: str, value: int, least: int, most: int | None = None) -> None:
    """Refuse a number that is too small or too large."""
    if value < least:
        raise InputError(f"{name} is {_written(value)}; wanted {least} or more")
    if most is not None and value > most:
        raise InputError(f"{name} is {_written(value)}; wanted {most:,} at most")


def _written(value: int) -> str:
    return str(value) if abs(value) < 10**18 else "a number of more than 18 digits"
