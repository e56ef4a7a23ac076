"""One line of a check."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Finding:
    """One line of a check."""

    label: str
    value: str  # its value with unit, in the units asked for
    note: str = ""  # what it rests on; may be empty
    warning: bool = False  # whether it is out of good practice
