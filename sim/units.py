"""Units people write and read; inside, everything is SI.

Dose is in J/m2, absorbance decadic in 1/m, temperature in deg C. Factors follow NIST SP 811 (2008) appendix
B; the inch, pound, gallon (231 in3) and psi are exact by definition.
"""

import re
from dataclasses import dataclass
from typing import Literal

from sim.errors import InputError

Units = Literal["us", "si"]  # what people chose to see
ShownKind = Literal["pressure", "flow", "volume", "length", "rain", "area", "dose", "temperature"]
INCH_M = 0.0254
FOOT_M = 0.3048
GALLON_M3 = 231 * INCH_M**3
POUND_KG = 0.45359237
PSI_PA = POUND_KG * 9.80665 / INCH_M**2
MINUTE_S, HOUR_S, DAY_S = 60.0, 3600.0, 86400.0
YEAR_S = 365.25 * DAY_S
GPM_M3_S = GALLON_M3 / MINUTE_S
LPM_M3_S = 1e-3 / MINUTE_S

FACTORS: dict[str, dict[str, float]] = {
    "pressure": {"Pa": 1.0, "kPa": 1e3, "bar": 1e5, "psi": PSI_PA, "MPa": 1e6},
    "pressure rate": {"Pa/yr": 1 / YEAR_S, "kPa/yr": 1e3 / YEAR_S, "psi/yr": PSI_PA / YEAR_S, "Pa/s": 1.0},
    "flow": {
        "m3/s": 1.0,
        "L/min": LPM_M3_S,
        "L/s": 1e-3,
        "m3/h": 1 / HOUR_S,
        "gpm": GPM_M3_S,
        "gal/d": GALLON_M3 / DAY_S,
        "L/d": 1e-3 / DAY_S,
    },
    "volume": {"m3": 1.0, "L": 1e-3, "mL": 1e-6, "gal": GALLON_M3, "ft3": FOOT_M**3},
    "length": {"m": 1.0, "cm": 1e-2, "mm": 1e-3, "um": 1e-6, "km": 1e3, "in": INCH_M, "ft": FOOT_M},
    "area": {"m2": 1.0, "cm2": 1e-4, "ft2": FOOT_M**2},
    "time": {
        "s": 1.0,
        "min": MINUTE_S,
        "h": HOUR_S,
        "d": DAY_S,
        "wk": 7 * DAY_S,
        "month": YEAR_S / 12,
        "yr": YEAR_S,
    },
    "mass": {"kg": 1.0, "g": 1e-3, "mg": 1e-6, "lb": POUND_KG},
    "concentration": {"kg/m3": 1.0, "g/m3": 1e-3, "mg/L": 1e-3},
    "areal load": {"kg/m2": 1.0, "g/m2": 1e-3},
    "dose": {"J/m2": 1.0, "mJ/cm2": 10.0},
    "absorbance": {"1/m": 1.0, "1/cm": 100.0},
    "specific absorbance": {"m2/kg": 1.0, "L/(mg m)": 1e3, "L/(mg cm)": 1e5},
    "fraction": {"": 1.0, "%": 1e-2},
    "rate": {"1/s": 1.0, "1/d": 1 / DAY_S, "1/yr": 1 / YEAR_S, "%/yr": 1e-2 / YEAR_S},
    "per length": {"1/m": 1.0, "1/mm": 1e3, "1/in": 1 / INCH_M},
    "per volume": {"1/m3": 1.0},
    "density": {"kg/m3": 1.0, "lb/ft3": POUND_KG / FOOT_M**3},
    "power": {"W": 1.0, "kW": 1e3},
    "linear resistance": {"Pa s/m3": 1.0, "psi/gpm": PSI_PA / GPM_M3_S, "kPa/(L/min)": 1e3 / LPM_M3_S},
    "quadratic resistance": {
        "Pa s2/m6": 1.0,
        "psi/gpm2": PSI_PA / GPM_M3_S**2,
        "kPa/(L/min)2": 1e3 / LPM_M3_S**2,
    },
    "pump curve": {"s2/m5": 1.0, "ft/gpm2": FOOT_M / GPM_M3_S**2, "m/(L/min)2": 1 / LPM_M3_S**2},
}
TEMPERATURES = ("C", "F")
_LIKE = str.maketrans({"³": "3", "²": "2", "µ": "u", "μ": "u", "°": None})
_NUMBER = re.compile(r"^\s*([+-]?(?:\d+(?:_\d+)*\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(.*?)\s*$", re.ASCII)


@dataclass(frozen=True)
class Shown:
    """How one kind of quantity is shown: unit label and usual decimals."""

    unit: str
    decimals: int


SHOWN: dict[str, dict[ShownKind, Shown]] = {
    "us": {
        "pressure": Shown("psi", 1),
        "flow": Shown("gpm", 2),
        "volume": Shown("gal", 0),
        "length": Shown("ft", 1),
        "rain": Shown("in", 2),
        "area": Shown("ft2", 0),
        "dose": Shown("mJ/cm2", 1),
        "temperature": Shown("F", 0),
    },
    "si": {
        "pressure": Shown("kPa", 0),
        "flow": Shown("L/min", 1),
        "volume": Shown("L", 0),
        "length": Shown("m", 1),
        "rain": Shown("mm", 1),
        "area": Shown("m2", 1),
        "dose": Shown("mJ/cm2", 1),
        "temperature": Shown("C", 0),
    },
}
_KIND_OF_SHOWN = {"rain": "length"}


def units_of(kind: str) -> tuple[str, ...]:
    """Return the units that may be written for a kind of quantity, a key of `FACTORS` or "temperature"."""
    return TEMPERATURES if kind == "temperature" else tuple(FACTORS[kind])


def kind_of_unit(unit: str) -> str | None:
    """Return the first kind of quantity that has this unit, for messages that say what was read."""
    if unit in TEMPERATURES:
        return "temperature"
    return next((kind for kind, table in FACTORS.items() if unit in table), None)


def to_si(value: float, unit: str, kind: str) -> float:
    """Convert a number in a written unit to SI; refused when the unit does not belong to the kind.

    Parameters
    ----------
    value : float
        Number in `unit`.
    unit : str
        Unit label of this kind.
    kind : str
        Kind of quantity.

    Returns
    -------
    float
        Value in SI (deg C for temperature).

    Examples
    --------
    >>> round(to_si(40, "psi", "pressure"))
    275790
    """
    if kind == "temperature" and unit in TEMPERATURES:
        return value if unit == "C" else (value - 32.0) / 1.8
    if kind == "temperature" or unit not in FACTORS[kind]:
        use = ", ".join(filter(None, units_of(kind)))
        raise InputError(f"{unit!r} is not a unit of {kind}; use one of {use}")
    return value * FACTORS[kind][unit]


def from_si(value: float, unit: str, kind: str) -> float:
    """Convert an SI number to a unit people read; the inverse of `to_si`.

    Parameters
    ----------
    value : float
        Value in SI (deg C for temperature).
    unit : str
        Unit label of this kind.
    kind : str
        Kind of quantity.

    Raises
    ------
    KeyError
        When the unit does not belong to the kind (a fault of ours: people never pass it).
    """
    if kind == "temperature":
        return value if unit == "C" else value * 1.8 + 32.0
    return value / FACTORS[kind][unit]


def parse(text: str, kind: str) -> float:
    """Read a quantity written with its unit, such as "40 psi" or "85 %".

    Refused when there is no number, no unit, or a unit of another kind.

    Parameters
    ----------
    text : str
        Number and unit.
    kind : str
        Kind of quantity that is wanted.

    Returns
    -------
    float
        Value in SI.

    Examples
    --------
    >>> parse("60 %", "fraction")
    0.6
    """
    wanted = "a number with a unit of " + kind + " (" + ", ".join(u or "plain" for u in units_of(kind)) + ")"
    match = _NUMBER.match(text)
    if not match:
        raise InputError(f"wanted {wanted}")
    if re.match(r",\d", match.group(2)):
        raise InputError(f"has a comma in its number; wanted {wanted} with a decimal point")
    unit = _plain_unit(match.group(2))
    if unit not in units_of(kind):
        other = kind_of_unit(unit) if unit else None
        raise InputError(f"is {other}; wanted {wanted}" if other else f"wanted {wanted}")
    return to_si(float(match.group(1)), unit, kind)


def unit_written(text: str, kind: str) -> str:
    """Return the unit a quantity was written in, that of SI where it has none of this kind."""
    match = _NUMBER.match(text)
    unit = _plain_unit(match.group(2)) if match else ""
    return unit if unit in units_of(kind) else units_of(kind)[0]


def _plain_unit(written: str) -> str:
    """Return a unit in the letters of our tables; the micro sign and the Greek mu look alike."""
    plain = written.translate(_LIKE)
    return "um" if plain in ("micron", "microns") else plain


def shown(value: float, kind: ShownKind, system: str) -> tuple[float, str]:
    """Return a number and unit label in the unit system a person chose.

    Parameters
    ----------
    value : float
        Value in SI.
    kind : ShownKind
        What it is a number of.
    system : str
        "us" or "si".
    """
    unit = SHOWN[system][kind].unit
    return from_si(value, unit, _KIND_OF_SHOWN.get(kind, kind)), unit


def text(value: float, kind: ShownKind, system: str) -> str:
    """Return a quantity as people read it, such as "40.0 psi".

    Parameters
    ----------
    value : float
        Value in SI.
    kind : ShownKind
        What it is a number of.
    system : str
        "us" or "si".

    Examples
    --------
    >>> text(275790.3, "pressure", "us")
    '40.0 psi'
    """
    number, unit = shown(value, kind, system)
    decimals = SHOWN[system][kind].decimals
    return f"{round(number, decimals) + 0.0:,.{decimals}f} {unit}"  # + 0.0: no minus before a zero


def span(value_m: float, system: str) -> str:
    """Return a length by the steps people use: in or mm where it is short, else ft or m.

    Parameters
    ----------
    value_m : float
        Length [m].
    system : str
        "us" or "si".

    Returns
    -------
    str
        Three digits where it is short, under a foot or a metre; the usual decimals else.

    Examples
    --------
    >>> span(0.127, "us"), span(0.02032, "si"), span(4.0, "us")
    ('5 in', '20.3 mm', '13.1 ft')
    """
    unit, least_m = _SHORT[system]
    if value_m == 0.0 or abs(value_m) >= least_m:
        return text(value_m, "length", system)
    if abs(value_m) < _FINE_M:
        unit = "um"
    three_digits = float(f"{from_si(value_m, unit, 'length'):.3g}")
    return f"{three_digits:g} {unit}"


# Of lengths: the unit of short ones, and from where on the usual one is used
_SHORT = {"us": ("in", FOOT_M * (1.0 - 1e-9)), "si": ("mm", 1.0 - 1e-9)}
_FINE_M = 1e-4  # ratings of cartridges, roughness
