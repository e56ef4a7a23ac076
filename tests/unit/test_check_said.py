"""What the check of a design says of odd houses: words and numbers a designer can go by."""

from sim.scenario.read import load
from sim.scenario.read.scenario_tables import scenario_of, tables_of
from sim.study.check.criteria import judged, note
from sim.study.check.criterion import criteria
from sim.study.search.places import put


def site(**values):
    """Return the demo with other values; __ stands for a dot."""
    tables = tables_of(load.load(load.DEMO))
    for key, value in values.items():
        put(tables, key.replace("__", "."), value)
    return scenario_of(tables, "test")


def of(scenario, key):
    return next(one for one in judged(scenario) if one.key == key)


def test_a_comparison_names_the_tap_as_the_check_does():
    said = note(site(house__lift="100 ft"))[-1]
    assert "highest tap" in said and "lowest" not in said
    assert criteria()["highest tap"].name.startswith("highest tap")
