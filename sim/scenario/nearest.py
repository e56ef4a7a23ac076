"""Words for a name that is not known: what is, and the nearest; and names that stand twice."""

import unicodedata
from collections.abc import Iterable
from difflib import get_close_matches


def nearest(name: str, known: Iterable[str]) -> str:
    """Return the words that offer what is known and the name nearest to the one read.

    For instance "did you mean 'cut_in'? known are 'cut_in', 'cut_out'".

    Examples
    --------
    >>> nearest("cutin", ["cut_in", "drift"])
    "did you mean 'cut_in'? known are 'cut_in', 'drift'"
    """
    names = list(known)
    close = get_close_matches(name, names, n=1, cutoff=0.5)
    start = f"did you mean {close[0]!r}? " if close else ""
    return f"{start}known are {', '.join(map(repr, names)) or 'none'}"


def unique(what: str, names: Iterable[str]) -> None:
    """Refuse a name that stands twice, and names that only blanks or case tell apart.

    Raises
    ------
    ValueError
        When there is one.
    """
    seen: dict[str, str] = {}
    for name in names:
        plain = " ".join(unicodedata.normalize("NFKC", name).split()).casefold()
        if seen.get(plain) == name:
            raise ValueError(f"{what}: two have the name {name!r}; wanted each name once")
        if plain in seen:
            raise ValueError(
                f"{what}: {seen[plain]!r} and {name!r} differ by blanks or case alone; "
                "wanted names that differ by more"
            )
        seen[plain] = name
