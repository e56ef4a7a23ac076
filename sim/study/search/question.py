"""What searches have in common, over sizes or over intervals."""

from dataclasses import dataclass

from sim.errors import InputError
from sim.study.asked import Simulated
from sim.study.runs.quota import MOST_REPLICATIONS, in_range


@dataclass(frozen=True, kw_only=True)
class Searched(Simulated):
    """What questions share that search.

    Attributes
    ----------
    worth : float
        Least difference of cost that matters [money/year], > 0.
    replications : int
        Runs at the last look, >= 2.
    """

    worth: float
    replications: int

    def check(self) -> None:
        """Refuse what cannot be answered, before long work begins."""
        super().check()
        in_range("replications", self.replications, 2, MOST_REPLICATIONS)
        if not self.worth > 0:
            raise InputError(f"worth is {self.worth:g}; wanted an amount of money above 0")
