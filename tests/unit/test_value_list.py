"""Values of a site as lines of text, by the units people use for what is small."""

import pytest

from sim.scenario.read.load import load_text
from sim.scenario.values.value_list import values

SMALL = """
extends = "family_house"
name = "small"
[cistern]
intake = "5 in"
[house]
pipe_bore = "0.8 in"
leak = "10 L/d"
"""


@pytest.mark.parametrize(
    ("units", "intake", "bore", "leak"),
    [("us", "5 in", "0.8 in", "2.642 gal/d"), ("si", "127 mm", "20.3 mm", "10 L/d")],
)
def test_what_is_small_is_said_in_small_units(units, intake, bore, leak):
    found = dict(values(load_text(SMALL, "small"), units))
    assert (found["cistern.intake"], found["house.pipe_bore"], found["house.leak"]) == (intake, bore, leak)
