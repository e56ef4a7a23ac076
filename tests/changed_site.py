"""A built-in site with other values, for tests that ask what follows from them."""

from sim.scenario.read import load
from sim.scenario.read.scenario_tables import scenario_of, tables_of
from sim.study.search.places import put


def site(name=load.DEMO, **values):
    """Return a built-in site with other values, as a site file has them; __ stands for a dot."""
    tables = tables_of(load.load(name))
    for key, value in values.items():
        put(tables, key.replace("__", "."), value)
    return scenario_of(tables, "test")
