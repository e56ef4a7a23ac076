"""Units against pint, and the words for what is refused."""

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim import units
from sim.errors import InputError

# our label -> the same unit in pint's words; pint's year is 365.25 d, as ours
PINT = {
    "psi": "psi",
    "gpm": "gallon/minute",
    "gal/d": "gallon/day",
    "L/d": "liter/day",
    "L/min": "liter/minute",
    "L/s": "liter/second",
    "m3/h": "meter**3/hour",
    "m3/s": "meter**3/second",
    "m3": "meter**3",
    "ft3": "foot**3",
    "gal": "gallon",
    "m2": "meter**2",
    "cm2": "centimeter**2",
    "ft2": "foot**2",
    "in": "inch",
    "d": "day",
    "h": "hour",
    "wk": "week",
    "month": "year/12",
    "yr": "year",
    "kg/m3": "kilogram/meter**3",
    "g/m3": "gram/meter**3",
    "mg/L": "milligram/liter",
    "lb/ft3": "pound/foot**3",
    "kg/m2": "kilogram/meter**2",
    "g/m2": "gram/meter**2",
    "J/m2": "joule/meter**2",
    "mJ/cm2": "millijoule/centimeter**2",
    "m2/kg": "meter**2/kilogram",
    "L/(mg m)": "liter/milligram/meter",
    "L/(mg cm)": "liter/milligram/centimeter",
    "1/m3": "1/meter**3",
    "1/yr": "1/year",
    "1/d": "1/day",
    "1/s": "1/second",
    "1/m": "1/meter",
    "1/cm": "1/centimeter",
    "1/mm": "1/millimeter",
    "1/in": "1/inch",
    "%": "percent",
    "%/yr": "percent/year",
    "Pa/yr": "pascal/year",
    "kPa/yr": "kilopascal/year",
    "psi/yr": "psi/year",
    "Pa s/m3": "pascal*second/meter**3",
    "psi/gpm": "psi/(gallon/minute)",
    "kPa/(L/min)": "kilopascal/(liter/minute)",
    "Pa s2/m6": "pascal*second**2/meter**6",
    "psi/gpm2": "psi/(gallon/minute)**2",
    "kPa/(L/min)2": "kilopascal/(liter/minute)**2",
    "s2/m5": "second**2/meter**5",
    "ft/gpm2": "foot/(gallon/minute)**2",
    "m/(L/min)2": "meter/(liter/minute)**2",
    "Pa/s": "pascal/second",
    "": "dimensionless",
}
REGISTRY = pint.UnitRegistry()
ALL = [(kind, unit) for kind, table in units.FACTORS.items() for unit in table]


@pytest.mark.parametrize(("kind", "unit"), ALL)
def test_factor_is_that_of_pint(kind, unit):
    si = next((name for name, factor in units.FACTORS[kind].items() if factor == 1.0), "Pa/s")
    told = (1.0 * REGISTRY(PINT.get(unit, unit))).to(PINT.get(si, si)).magnitude
    # the pound-force, gallon and inch are exact in both; only rounding is left
    assert units.FACTORS[kind][unit] == pytest.approx(told, rel=1e-12)


@pytest.mark.parametrize(("fahrenheit", "celsius"), [(32.0, 0.0), (212.0, 100.0), (-40.0, -40.0)])
def test_temperature_at_its_fixed_points(fahrenheit, celsius):
    # definition of the Fahrenheit scale
    assert units.parse(f"{fahrenheit} F", "temperature") == pytest.approx(celsius, abs=1e-12)
    assert units.from_si(celsius, "F", "temperature") == pytest.approx(fahrenheit, abs=1e-12)


@given(st.sampled_from(ALL), st.floats(min_value=1e-6, max_value=1e6))
def test_there_and_back(kind_and_unit, value):
    kind, unit = kind_and_unit
    assert units.from_si(units.to_si(value, unit, kind), unit, kind) == pytest.approx(value, rel=1e-14)


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("40psi", "pressure", 40 * units.PSI_PA),
        (" 1_000 L ", "volume", 1.0),
        ("5e-6 m", "length", 5e-6),
        (".5 m³", "volume", 0.5),
        ("20 µm", "length", 20e-6),
        ("20 \N{GREEK SMALL LETTER MU}m", "length", 20e-6),
        ("20 micron", "length", 20e-6),
        ("5 microns", "length", 5e-6),
        ("-3 °C", "temperature", -3.0),
        ("60 %", "fraction", 0.6),
        ("0.6", "fraction", 0.6),
    ],
)
def test_what_people_write_is_read(text, kind, value):
    assert units.parse(text, kind) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "said"),
    [
        ("40 psi", "volume", "is pressure; wanted a number with a unit of volume"),
        ("40", "pressure", "wanted a number with a unit of pressure"),
        ("forty psi", "pressure", "wanted a number with a unit of pressure"),
        ("nan psi", "pressure", "wanted a number with a unit of pressure"),
        ("40 PSI", "pressure", "wanted a number with a unit of pressure"),
        ("12 m", "temperature", "is length; wanted"),
    ],
)
def test_what_is_refused_is_said(text, kind, said):
    with pytest.raises(InputError) as caught:
        units.parse(text, kind)
    assert said in str(caught.value)


@pytest.mark.parametrize("system", units.SHOWN)
def test_shown_units_belong_to_their_kind(system):
    for kind in units.SHOWN[system]:
        number, unit = units.shown(1.0, kind, system)
        assert math.isfinite(number)
        assert unit in units.units_of("length" if kind == "rain" else kind)


@pytest.mark.parametrize(
    ("written", "in_us", "in_si"),
    [
        ("5 in", "5 in", "127 mm"),
        ("0.8 in", "0.8 in", "20.3 mm"),
        ("20 mm", "0.787 in", "20 mm"),
        ("120 mm", "4.72 in", "120 mm"),
        ("1 ft", "1.0 ft", "305 mm"),
        ("1 m", "3.3 ft", "1.0 m"),
        ("-4 in", "-4 in", "-102 mm"),
        ("20 um", "20 um", "20 um"),
        ("0.5 mm", "0.0197 in", "0.5 mm"),
    ],
)
def test_short_lengths_are_said_by_the_steps_people_use(written, in_us, in_si):
    value_m = units.parse(written, "length")
    assert units.span(value_m, "us") == in_us
    assert units.span(value_m, "si") == in_si
