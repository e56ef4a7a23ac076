"""Houses of the second plant with mains behind the rain: a float valve between two levels of the cistern."""

from dataclasses import replace

import numpy as np
import pytest

from tests.second import project
from tests.second.apart import BARS, apart, case_of

GPM = 6.30902e-5
SHORT = 2
HOUSES = [*range(1, 6), *(pytest.param(seed, marks=pytest.mark.long) for seed in range(6, 13))]


def with_mains(seed):
    """Return a random house whose cistern stands low and whose valve lets in 0.1 to 8 gpm."""
    rng = np.random.default_rng([seed, 4])  # apart: the houses stay those drawn without one
    case = case_of(seed, SHORT)
    store = case.scenario.cistern
    intake = store.intake_m * store.floor_m2
    runs = intake + case.scenario.pump.restart_m * store.floor_m2
    often = seed % 3 > 0  # a narrow band well above the intake; else little water just above it
    below = runs + rng.uniform(0.0, 0.2) if often else intake + rng.uniform(0.002, 0.02)
    fitted = {
        "mains_m3_s": (rng.uniform(0.3, 8.0) if often else rng.uniform(0.1, 0.5)) * GPM,
        "mains_below": below / store.capacity_m3,
        "mains_until": (max(below, runs) + rng.uniform(0.01, 0.1)) / store.capacity_m3,
    }
    scenario = case.scenario.model_copy(update={"cistern": store.model_copy(update=fitted)})
    changes = [one for one in case.changes if one[1] != "refill"]
    return replace(case, scenario=scenario, changes=changes, cistern=below + rng.uniform(-0.01, 0.1))


@pytest.mark.parametrize("seed", HOUSES)
def test_both_plants_let_mains_in_alike(seed):
    case = with_mains(seed)
    found, second = apart(case, untold={"trips"})  # one that mains end at once leaves only its pump stop
    over = {bar.name: value for bar, value in zip(BARS, found, strict=True) if not value <= bar.limit}
    assert over == {} and second.book.log
    ours = project.Compiled(case).s[0]
    assert float(ours["mains_m3"]) == pytest.approx(second.book.mains, rel=1e-6, abs=1e-6)
    assert float(ours["cistern_m3"]) == pytest.approx(second.cistern, rel=1e-6)


def test_in_these_houses_the_valve_opens_again_and_some_pumps_trip():
    again, trips = 0, 0
    for seed in range(1, 13):
        case = with_mains(seed)
        ours, store = project.Compiled(case), case.scenario.cistern
        a_filling = (store.mains_until - store.mains_below) * store.capacity_m3
        again += float(ours.s["mains_m3"][0]) > 2.0 * a_filling
        trips += bool(ours.trips)
    assert again >= 4 and trips >= 1
