"""What follows from the draws of a cartridge: what it holds, and how its resistance grows."""

import numpy as np
import numpy.typing as npt

from sim.compiled import compiled
from sim.plant import cartridge

Floats = npt.NDArray[np.float64]


@compiled
def _capacity_factors(unit_normal: Floats, cv: Floats, housings: float, found: Floats) -> None:
    for i in range(cv.size):
        found[i] = cartridge.capacity_factor(unit_normal[i], cv[i], housings)


def capacity_factors(own: Floats, unlike: Floats, housings: int) -> Floats:
    """Return what the cartridges in use hold over what the usual ones do, for each draw."""
    found = np.empty_like(own)
    _capacity_factors(own, unlike, float(housings), found)
    return found


@compiled
def _growths(exponent: Floats, ratio: Floats, found: Floats) -> None:
    for i in range(exponent.size):
        found[i] = cartridge.growth_for(exponent[i], ratio[i])


def growths(exponent: Floats, ratio: Floats) -> Floats:
    """Return the growth constant of each draw."""
    found = np.empty_like(exponent)
    _growths(exponent, ratio, found)
    return found
