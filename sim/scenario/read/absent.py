"""What a train can have that is not simulated: a key that speaks of it is answered so."""

ABSENT = {  # what a key says, and what it speaks of
    "chlor": "chlorine dosing",
    "ozone": "ozone",
    "variable_speed": "a pump of variable speed",
}


def said_of(key: str) -> str:
    """Return what is said of an unknown key that speaks of what is not simulated; empty for others.

    Examples
    --------
    >>> said_of("variable_speed")
    'is not a key: a pump of variable speed is not simulated'
    """
    found = next((what for word, what in ABSENT.items() if word in key.lower()), "")
    return f"is not a key: {found} is not simulated" if found else ""
