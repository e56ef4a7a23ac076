"""Our equations under the names and in the units of the published cases (`cases/*.csv`)."""

from collections.abc import Callable

EQUATIONS: dict[str, Callable] = {}


def equation(function: Callable) -> Callable:
    """Enter a function under its name."""
    EQUATIONS[function.__name__] = function
    return function
