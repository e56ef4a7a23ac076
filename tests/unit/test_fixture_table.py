"""Weights of fixtures against the tables they are from: a second transcription, each with its source.

Fixture units: IPC table E103.3(2), private, hot and cold (from memory). Loading units and draw-off flows:
EN 806-3:2006, table 2 (from memory). Chance and flow: the peak water demand study of 2017, table of
recommended p and q for efficient fixtures in homes (from memory).
"""

import pytest

from sim.demand.fixtures import KINDS, fixture_units, loading_units
from sim.units import GPM_M3_S

PRINTED = {  # fixture units, loading units, L/s, chance, gpm
    "toilet": (2.2, 1, 0.1, 0.01, 3.0),
    "basin": (0.7, 1, 0.1, 0.02, 1.5),
    "shower": (1.4, 2, 0.2, 0.045, 2.0),
    "bath with shower": (1.4, 4, 0.4, 0.055, 5.5),
    "bath": (1.4, 4, 0.4, 0.01, 5.5),
    "kitchen sink": (1.4, 2, 0.2, 0.02, 2.2),
    "dishwasher": (1.4, 2, 0.2, 0.005, 1.3),
    "clothes washer": (1.4, 2, 0.2, 0.055, 3.5),
    "laundry tub": (1.4, 2, 0.2, 0.02, 2.0),
}


@pytest.mark.parametrize("kind", PRINTED)
def test_a_kind_has_the_weights_of_its_tables(kind):
    units, loading, draw_l_s, chance, flow_gpm = PRINTED[kind]
    one = KINDS[kind]
    assert (one.wsfu_factor, one.loading_factor, one.probability) == (units, loading, chance)
    assert one.draw_m3_s == pytest.approx(draw_l_s / 1000.0)
    assert one.flow_m3_s == pytest.approx(flow_gpm * GPM_M3_S)
    assert one.draw_m3_s == pytest.approx(
        one.loading_factor * 1e-4
    )  # a loading unit is 0.1 L/s, by definition


def test_all_kinds_are_held_and_counts_add_up():
    assert set(KINDS) == set(PRINTED)
    house = {"toilet": 2, "basin": 3, "shower": 1, "kitchen sink": 1}
    assert fixture_units(house) == pytest.approx(2 * 2.2 + 3 * 0.7 + 1.4 + 1.4)
    assert loading_units(house) == 2 + 3 + 2 + 2
