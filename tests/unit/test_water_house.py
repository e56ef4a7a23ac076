"""The record of the house: what its water leaves in the train by hand, and calls that break off and go on."""

import numpy as np
import pytest
import simpy

from sim.errors import InputError
from sim.scenario.read.load import checked, tables
from sim.scenario.scenario import MOST_STAGES
from sim.twin.water import transport
from sim.twin.water.house import CLASSES, COLOUR, REMOVED, TO_HOUSE
from sim.twin.water.unpack import house_record
from sim.twin.world import World

HEAD = 'extends = "family_house"\nname = "Long train"\n'
CARBON = {"carbon_bed": "2 L", "carbon_initial": 0.4, "carbon_floor": 0.4}


@pytest.fixture
def house(tiny):
    """A house of two carbon stages whose water neither settles nor clears, nothing in its sludge."""
    scenario = tiny(stage=[{"name": "sediment", **CARBON}, {"name": "carbon", **CARBON}])
    found = house_record(scenario, 1.0, 1.0)
    found["site"]["colour_decay_per_s"] = found["water"]["sludge_kg"] = found["water"]["settling_m_s"] = 0.0
    found["stages"]["catch"][0, :2] = [[0.5] * CLASSES, [0.2] * CLASSES]
    found["state"]["cistern_m3"], found["water"]["solids_kg"], found["water"]["colour"] = 4.0, 8.0, 40.0
    return found


@pytest.mark.parametrize("share", [1.0, 0.25, 0.0])
def test_what_goes_round_the_train_leaves_nothing_in_it(house, share):
    # A tenth of the cistern is pumped: 0.8 kg of each class and 4 m2 of colour. Of what goes through the
    # train the first stage takes 0.5 and 0.4, the second 0.2 and 0.4 of what is left.
    house["faults"]["share"] = share
    transport.carry(3600.0, 4.0, 0.4, 0.0, house[0])
    loads, ledger = house["stages"]["load_kg"][0, :2], house["water"]["ledger"][0]
    np.testing.assert_allclose(loads[0], 0.5 * share * 0.8, rtol=1e-12)
    np.testing.assert_allclose(loads[1], 0.2 * 0.5 * share * 0.8, rtol=1e-12)
    np.testing.assert_allclose(ledger[:CLASSES, TO_HOUSE], (1.0 - 0.6 * share) * 0.8, rtol=1e-12)
    assert ledger[COLOUR, REMOVED] == pytest.approx((0.4 + 0.6 * 0.4) * share * 4.0, rel=1e-12)
    assert ledger[COLOUR, TO_HOUSE] == pytest.approx((1.0 - 0.64 * share) * 4.0, rel=1e-12)
    np.testing.assert_allclose(house["stages"]["passed_m3"][0, :2], share * 0.4, rtol=1e-12)


def test_a_log_that_is_full_breaks_off_and_nothing_is_handed_over_twice(tiny, short, policy):
    scenario = tiny()
    common = short(scenario, 5)
    worlds = []
    for rows in (4096, 2):
        env = simpy.Environment()
        world = World(env, scenario, policy(), common, trace=False)
        world.pump_log = np.zeros((rows, 2))
        env.run(until=3 * 86400.0)
        world.bring()
        worlds.append(world)
    one, other = worlds
    assert one.s["pump_rows"] > 2
    np.testing.assert_array_equal(one.house, other.house)


def test_more_stages_than_the_record_holds_are_refused():
    data = tables(HEAD, "t")
    first = data["stage"][0]
    data["stage"] += [{**first, "name": f"again {n}"} for n in range(MOST_STAGES - len(data["stage"]))]
    assert len(checked(data, "t").stages) == MOST_STAGES
    data["stage"].append({**first, "name": "one more"})
    with pytest.raises(
        InputError, match=f"t: stage: read {MOST_STAGES + 1} stages; wanted {MOST_STAGES} at most"
    ):
        checked(data, "t")
