"""One line of a check."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Finding:
    """One line of a check.

    Attributes
    ----------
    label : str
        What it is.
    value : str
        Its value with unit, in the units asked for.
    note : str
        What it rests on; may be empty.
    warning : bool
        Whether it is out of good practice.
    """

    label: str
    value: str
    note: str = ""
    warning: bool = False
