"""One line of a check."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Finding:
    """One line of a check."""

    label: str
    value: str  # its value with unit, in the units asked for
    note: str = ""  # what it rests on; may be empty
    warning: bool = False  # whether it is out of good practice


def apart(ratio: float) -> str:
    """Return how far one number is above or below another, by their ratio, in whole percent.

    Examples
    --------
    >>> apart(1.2), apart(0.999), apart(0.5)
    ('+20 %', '+0 %', '-50 %')
    """
    return f"{round(100.0 * (ratio - 1.0), 0) + 0.0:+.0f} %"  # a rounded -0.0 is none
