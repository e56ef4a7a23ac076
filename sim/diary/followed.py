"""Which houses a diary can be followed for, and a drill played at."""

from typing import Literal

from sim.errors import InputError
from sim.scenario.gravity import check_pumped
from sim.scenario.scenario import Scenario

_CAN_BE = {"a diary": "followed", "a drill": "played"}


def check_followed(scenario: Scenario, what: Literal["a diary", "a drill"] = "a diary") -> None:
    """Refuse a train whose readings the closed forms of a diary, or the gauges of a drill, do not tell."""
    check_pumped(scenario.cistern, what)
    if scenario.uv.units > 1:
        raise InputError(
            f"uv.units: read {scenario.uv.units}; {what} can be {_CAN_BE[what]} with one UV unit only; "
            "compare, check, size, tune, run, skip and visits take two"
        )
