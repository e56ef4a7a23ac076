"""Tanker loads on recorded against generated rain of one place: does the spread of years reach the answer?

Two stand-ins for houses on longer records whose daily series are not kept here: the family house on the rain
of Brussels, the cottage under 300 m2 on that of Tunis; 24 runs of 5 years "by the calendar", the same draws.
"""

import numpy as np
import pytest

from sim.outcome import measures
from sim.scenario.read.load import load_text
from sim.scenario.read.series import RainRecord
from sim.twin import run as twin
from tests.recorded.recorded_rain import daily

RUNS, YEARS = 24, 5
HOUSES = {
    "brussels": 'extends = "family_house"\n[rain]\nclimate = "temperate oceanic"\n',
    "tunis": 'extends = "cottage"\n[rain]\nclimate = "mediterranean"\n',
}
ROOFS = {"brussels": "", "tunis": '[roof]\narea = "300 m2"\n'}
PLAIN = "wetness_spread = 0.0\ndepth_spread = 0.0\n"


def loads_a_year(name, more="", record=None):
    """Return mean and standard error of tanker loads a year."""
    scenario = load_text(HOUSES[name] + more + ROOFS[name], "house.toml")
    policy = next(one for one in scenario.policies if one.name == "by the calendar")
    found = np.array(
        [
            measures.row(twin.run(scenario, policy, twin.common_inputs(scenario, at, 1, YEARS, record)))[
                "tanker_loads"
            ]
            for at in range(RUNS)
        ]
    )
    return found.mean(), found.std(ddof=1) / np.sqrt(RUNS)


@pytest.mark.long
@pytest.mark.parametrize("name", HOUSES)
def test_generated_rain_sends_as_many_tankers_as_the_record(name):
    """Within two standard errors of the difference."""
    recorded, recorded_error = loads_a_year(name, record=RainRecord(*daily(name), "digest"))
    generated, error = loads_a_year(name)
    assert recorded > 0.0
    assert abs(generated - recorded) <= 2.0 * np.hypot(error, recorded_error)


@pytest.mark.long
def test_without_weather_that_holds_tankers_are_too_few():
    """The family house: as released first, beyond two standard errors below the record."""
    recorded, recorded_error = loads_a_year("brussels", record=RainRecord(*daily("brussels"), "digest"))
    plain, error = loads_a_year("brussels", PLAIN)
    assert plain < recorded - 2.0 * np.hypot(error, recorded_error)
