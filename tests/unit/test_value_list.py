"""Values of a site as lines of text, by the units people use for what is small."""

import pytest

from sim.scenario.read.load import load_text
from sim.scenario.values.value_list import values
from sim.study.sheet.contents import SITE, inputs

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


def test_what_a_further_stage_has_of_another_is_not_said_to_be_the_sites_own():
    lines = '[[stage]]\nname = "fine"\nlike = "sediment"\nbefore = "carbon"\nrating = "10 um"\n'
    site = load_text(f'extends = "family_house"\nname = "three"\n{lines}', "three")
    told = {key: rests for key, _, rests in inputs(site, load_text('extends = "base"', "base"), "us")}
    assert told["stage[fine].dirt_capacity"] == told["stage[sediment].dirt_capacity"] == "as in base.toml [A]"
    assert told["stage[fine].rating"] == SITE
