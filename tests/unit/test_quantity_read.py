"""A quantity is read with its unit; what only looks like one is refused, a share too."""

import math

import pytest
from pydantic import TypeAdapter, ValidationError

from sim.scenario.values.quantity import Label, quantity
from sim.units import PSI_PA


def read(kind, value):
    return TypeAdapter(quantity(kind)).validate_python(value)


def words(kind, value):
    with pytest.raises(ValidationError) as caught:
        read(kind, value)
    return caught.value.errors()[0]["msg"]


@pytest.mark.parametrize(
    ("kind", "value", "found"),
    [
        ("pressure", "40 psi", 40.0 * PSI_PA),
        ("pressure", 0, 0.0),
        ("pressure", "-2 psi", -2.0 * PSI_PA),
        ("fraction", 0.6, 0.6),
        ("fraction", 1, 1.0),
        ("fraction", "60 %", 0.6),
        ("temperature", "50 F", 10.0),
    ],
)
def test_what_is_meant_is_read(kind, value, found):
    assert read(kind, value) == pytest.approx(found)


@pytest.mark.parametrize("value", [1e300, 10**400, math.nan, math.inf, "1e999 %", True, None, [0.6]])
def test_a_share_that_is_none_is_refused(value):
    assert words("fraction", value)


@pytest.mark.parametrize("value", [40, 40.0, "40", "psi", "40 psi psi", "40 gal", True, ["40 psi"]])
def test_a_pressure_without_its_unit_is_refused(value):
    assert "wanted" in words("pressure", value)


def test_nought_has_a_unit_where_it_is_a_temperature():
    assert "has no unit" in words("temperature", 0)


def test_a_label_is_a_line_of_eighty_characters_at_most():
    label = TypeAdapter(Label)
    assert label.validate_python("x" * 80) == "x" * 80
    for bad in ("", "x" * 81, "two\nlines"):
        with pytest.raises(ValidationError):
            label.validate_python(bad)
