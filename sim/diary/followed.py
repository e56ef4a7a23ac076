"""Which houses a diary can be followed for, and a drill played at."""

from sim.errors import InputError
from sim.scenario.gravity import check_pumped
from sim.scenario.scenario import Scenario

DIARY = "a diary can be followed"


def check_followed(scenario: Scenario, what: str = DIARY) -> None:
    """Refuse a train whose readings the closed forms of a diary, or the gauges of a drill, do not tell."""
    check_pumped(scenario.cistern.gravity_feed, "a diary" if what == DIARY else "a drill")
    if scenario.uv.units > 1:
        raise InputError(
            f"uv.units: read {scenario.uv.units}; {what} with one UV unit only; compare, check, size, tune, "
            "run, skip and visits take two"
        )
