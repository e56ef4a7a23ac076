"""The states of the plant that steps of a procedure wait for: a wrong one opens what is under pressure."""

from types import SimpleNamespace

import pytest

from sim.upkeep.segments import MOST_PA
from sim.upkeep.work import Work

BELOW, ABOVE = 0.99 * MOST_PA, 1.01 * MOST_PA


def stands(state, live=(), at=None, tank_full=False, **pressure_pa):
    """Return whether a state is told of segments with these pressures and devices in these positions."""
    at = at or {}
    water = SimpleNamespace(
        pressure_pa={"H": 0.0, "U": 0.0, "K": 0.0} | pressure_pa, at=at, tank_full=tank_full,
        live=lambda one: one in live, is_at=lambda device, position: at.get(device) == position,
    )  # fmt: skip
    return Work.is_so(SimpleNamespace(water=water), state)


@pytest.mark.parametrize(
    ("tank_full", "pressure_pa", "drained"),
    [(False, 0.0, True), (False, BELOW, True), (False, ABOVE, False), (True, 0.0, False), (True, 4e5, False)],
)
def test_a_tank_is_drained_when_it_holds_no_water_and_no_pressure(tank_full, pressure_pa, drained):
    assert stands("tank drained", tank_full=tank_full, K=pressure_pa) is drained


@pytest.mark.parametrize(
    ("housings_pa", "chamber_pa", "relieved"),
    [(0.0, 0.0, True), (BELOW, BELOW, True), (ABOVE, 0.0, False), (0.0, ABOVE, False), (4e5, 4e5, False)],
)
def test_housings_and_chamber_are_both_relieved_or_it_is_not_so(housings_pa, chamber_pa, relieved):
    assert stands("relieved", H=housings_pa, U=chamber_pa) is relieved


def test_water_is_shut_when_none_comes_to_the_housings():
    assert stands("water shut") and not stands("water shut", live=("H",))


@pytest.mark.parametrize(
    ("state", "device", "wanted", "other"),
    [
        ("unplugged", "UV plug", "out", "in"),
        ("pump off", "pump switch", "off", "on"),
        ("sensor unplugged", "sensor plug", "out", "in"),
    ],
)
def test_a_plug_or_switch_is_where_it_is_said_to_be(state, device, wanted, other):
    assert stands(state, at={device: wanted}) and not stands(state, at={device: other})


def test_a_unit_without_a_plug_for_its_sensor_has_it_unplugged():
    assert stands("sensor unplugged")
    assert not stands("unplugged") and not stands("pump off")
