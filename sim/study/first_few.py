"""Lists of which only the first are told one by one; how many others there are is told too."""

from collections.abc import Sequence

from sim.study.wording import counted, listed

MOST_NAMED = 3  # told one by one in a sentence


def few(parts: Sequence[str], last: str = "and", more: str = "") -> str:
    """Return the first of some as people say them, and how many others there are.

    Examples
    --------
    >>> few(["a", "b", "c"], "or"), few(["a", "b", "c", "d", "e"], more=" too")
    ('a, b or c', 'a, b, c and 2 others too')
    """
    left = len(parts) - MOST_NAMED
    if left <= 0:
        return listed(parts, last)
    return listed([*parts[:MOST_NAMED], f"{counted(left, 'other')}{more}"], last)
