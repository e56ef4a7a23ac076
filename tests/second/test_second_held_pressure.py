"""Houses of the second plant whose pump holds its pressure by its speed."""

from dataclasses import replace

import numpy as np
import pytest

from tests.second import project
from tests.second.apart import BARS, apart, case_of

GPM, PSI = 6.30902e-5, 6894.757
SHORT = 2
HOUSES = [*range(1, 6), *(pytest.param(seed, marks=pytest.mark.long) for seed in range(6, 13))]


def with_held_pressure(seed):
    """Return a random house with such a pump: a band of 3 to 12 psi, a small tank, a delay of up to 2 min."""
    rng = np.random.default_rng([seed, 3])  # apart: the houses stay those drawn without one
    case = case_of(seed, SHORT)
    sc = case.scenario
    pump = {
        "speed": "constant pressure",
        "least_flow_m3_s": rng.uniform(0.2, 1.5) * GPM,
        "stop_delay_s": rng.uniform(0.5, 120.0),
        "drive_efficiency": rng.uniform(0.85, 1.0),
    }
    cut_in = sc.switch.cut_out_pa - rng.uniform(3.0, 12.0) * PSI
    changed = {
        "pump": sc.pump.model_copy(update=pump),
        "switch": sc.switch.model_copy(update={"cut_in_pa": cut_in}),
        "tank": sc.tank.model_copy(update={"volume_m3": rng.uniform(8e-3, 40e-3)}),
    }
    return replace(case, scenario=sc.model_copy(update=changed))


@pytest.mark.parametrize("seed", HOUSES)
def test_both_plants_hold_the_pressure_alike(seed):
    found, second = apart(with_held_pressure(seed))
    over = {bar.name: value for bar, value in zip(BARS, found, strict=True) if not value <= bar.limit}
    assert over == {} and second.book.log


def test_these_houses_hold_and_give_way():
    longest, over = [], 0
    for seed in range(1, 13):
        ours = project.Compiled(with_held_pressure(seed))
        rows = int(ours.s["pump_rows"][0])
        runs = ours.log[:rows, 1] - ours.log[:rows, 0]
        longest.append(runs.max() if rows else 0.0)
        least = ours.days[:, project.state.TANK_MIN].min()
        over += least < ours.p["cut_in_pa"][0] - 100.0  # the house took more than it could give
    assert sum(one > 240.0 for one in longest) >= 4 and 1 <= over <= 11
