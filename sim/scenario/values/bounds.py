"""How small and how large a quantity of each kind may be: far outside any house on rain, well inside floats.

Within them no square, quotient or exponential of the equations leaves what a float can hold. They are not
ranges in which a number makes sense: those are the limits of the fields.
"""

from sim.constants import YEAR_S

# Kind: least size above zero and greatest size, in SI; the sign is left to the field.
BOUNDS: dict[str, tuple[float, float]] = {
    "pressure": (1e-3, 1e8),
    "pressure rate": (0.0, 1e7 / YEAR_S),
    "flow": (1e-12, 1.0),
    "volume": (1e-9, 1e6),
    "length": (1e-10, 1e5),
    "area": (1e-3, 1e7),
    "time": (1e-3, 1e5 * YEAR_S),
    "mass": (1e-9, 1e6),
    "concentration": (0.0, 1e3),
    "areal load": (0.0, 1e3),
    "dose": (1e-3, 1e6),
    "absorbance": (0.0, 1e4),
    "specific absorbance": (0.0, 1e6),
    "fraction": (0.0, 1e3),
    "rate": (0.0, 1.0),
    "per length": (1e-6, 1e7),
    "per volume": (0.0, 1e6),
    "density": (1.0, 3e4),
    "power": (0.0, 1e6),
    "temperature": (0.0, 1e3),
    "linear resistance": (1.0, 1e16),
    "quadratic resistance": (1.0, 1e22),
    "pump curve": (1e3, 1e14),
}


def beyond(value: float, kind: str) -> str:
    """Return what is wanted when a number is beyond the bounds of its kind.

    Such as "at most 1e+06"; empty when it is within.

    Examples
    --------
    >>> beyond(1e9, "volume"), beyond(1e-30, "volume"), beyond(0.0, "volume")
    ('at most 1e+06', 'at least 1e-09, or 0', '')
    """
    size, (least, most) = abs(value), BOUNDS[kind]
    if size > most:
        return f"at most {most:g}"
    return f"at least {least:g}, or 0" if 0.0 < size < least else ""
