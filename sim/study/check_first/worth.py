"""What a test is worth before its result is known, and what knowing everything would be."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Worth:
    """Expected payoffs: of the best act now, of the best act after a free test, of knowing the state."""

    now: float
    tested: float
    known: float

    @property
    def of_test(self) -> float:
        """What the test is worth before it costs anything."""
        return self.tested - self.now


def worth(prior: Floats, payoff: Floats, chance: Floats) -> Worth:
    """Return what a test is worth.

    Parameters
    ----------
    prior : ndarray
        Chance of each state, shape (states,).
    payoff : ndarray
        Of each act in each state, shape (acts, states).
    chance : ndarray
        Of each result in each state, shape (results, states).

    References
    ----------
    Raiffa 1968, Decision Analysis (from memory).
    """
    joint = chance * prior
    return Worth(
        float((payoff @ prior).max()),
        float(sum((payoff @ one).max() for one in joint)),
        float((payoff.max(axis=0) * prior).sum()),
    )
