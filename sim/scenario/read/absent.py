"""What is not simulated, or said under another key: a key that speaks of it is answered so."""

ABSENT = {  # what a key says, and what is said of it
    "chlor": "chlorine dosing is not simulated",
    "ozone": "ozone is not simulated",
    "variable_speed": "a pump that holds its pressure is pump.speed",
    "gravity": "a cistern above is cistern.gravity_feed; a header tank that a pump fills is not simulated",
}


def said_of(key: str) -> str:
    """Return what is said of an unknown key that speaks of such a thing; empty for others.

    Examples
    --------
    >>> said_of("ozone_dose")
    'is not a key: ozone is not simulated'
    """
    found = next((said for word, said in ABSENT.items() if word in key.lower()), "")
    return f"is not a key: {found}" if found else ""
