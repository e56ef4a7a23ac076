"""A UV unit of half the flow a house can draw: less care is never better but for the flow that it chokes.

Clogged cartridges hold the flow down, and a slower flow has more dose. What care itself does is seen where
cartridges do not clog.
"""

import numpy as np
import pytest

from sim.outcome.measures import row
from sim.scenario.read.load import load
from sim.twin.run import common_inputs, run
from sim.units import GPM_M3_S

RUNS, MARGIN_D = 10, 1.0  # a day a year matters to an owner (assumption)


def days(clogging):
    """Return mean days below target a year of each policy, by how much is done, from most to least."""
    scenario = load("family_house")
    stages = tuple(
        stage.model_copy(update={"dirt_capacity_kg": stage.dirt_capacity_kg / clogging})
        for stage in scenario.stages
    )
    unit = scenario.uv.model_copy(update={"rated_flow_m3_s": 4 * GPM_M3_S})
    scenario = scenario.model_copy(update={"uv": unit, "stages": stages})
    found = {}
    for replication in range(RUNS):
        common = common_inputs(scenario, replication, 1, 3)
        for policy in scenario.policies:
            one = row(run(scenario, policy, common), beyond=())
            found.setdefault(policy.name, []).append(one["days_below_target"])
    return {name: float(np.mean(values)) for name, values in found.items()}


@pytest.mark.long
@pytest.mark.parametrize("clogging", [1.0, 1e-3])
def test_a_house_nobody_looks_after_is_the_worst(clogging):
    found = days(clogging)
    nobody = found.pop("nothing done")
    assert nobody > max(found.values()) + 100.0


@pytest.mark.long
def test_where_cartridges_do_not_choke_the_flow_mending_alone_is_no_better_than_care():
    found = days(1e-3)
    mended = found["as things fail"]
    for name in ("by the calendar", "by the readings"):
        assert mended > found[name] - MARGIN_D
