"""What is asked of a runner: designs, and replications of them."""

from dataclasses import dataclass, replace
from typing import Any

from sim.scenario.care import Policy
from sim.scenario.read.series import RainRecord
from sim.scenario.scenario import Scenario


@dataclass(frozen=True)
class Design:
    """One house and ways of looking after it; every policy of a replication meets the same chance.

    With a root of chance of its own a house has its own weather; else all houses of a study share theirs.
    """

    label: str
    scenario: Scenario
    policies: tuple[Policy, ...]
    seed: int | None = None

    def root(self, inputs: "Inputs") -> int:
        """Return the root of chance of this house."""
        return inputs.seed if self.seed is None else self.seed


@dataclass(frozen=True)
class Inputs:
    """What all designs share."""

    seed: int
    years: int
    rain: RainRecord | None = None
    draws: dict[str, Any] | None = None


@dataclass(frozen=True, order=True)
class Request:
    """Replications `first` to `stop` - 1 of some policies of one design."""

    design: int
    policies: tuple[int, ...]
    first: int
    stop: int

    def up_to(self, stop: int | None) -> "Request":
        """Return the part of it below a replication; all of it for None."""
        return self if stop is None else replace(self, stop=max(self.first, min(self.stop, stop)))
