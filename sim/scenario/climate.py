"""Built-in monthly tables of the rain generator, by kind of climate."""

import csv
from importlib.resources import files

import numpy as np
import numpy.typing as npt

from sim.errors import InputError
from sim.scenario.nearest import nearest

Floats = npt.NDArray[np.float64]
_FOLDER = "rain"


def climates() -> tuple[str, ...]:
    """Return the names of the built-in climates.

    Examples
    --------
    >>> climates()
    ('humid continental', 'marine west coast', 'mediterranean', 'temperate oceanic')
    """
    folder = files("scenarios") / _FOLDER
    stems = (entry.name.removesuffix(".csv") for entry in folder.iterdir() if entry.name.endswith(".csv"))
    return tuple(sorted(stem.replace("_", " ") for stem in stems))


def table(name: str) -> dict[str, Floats]:
    """Return the monthly table of a climate.

    `p_wet_after_dry` and `p_wet_after_wet` [-], `shape` [-] and `scale_m` [m] of the gamma law of depth on
    wet days; float64[12], January first. Refused when there is no such climate.

    References
    ----------
    Source and grade of each table stand in the head of its file in scenarios/rain.

    Examples
    --------
    >>> float(table("marine west coast")["p_wet_after_dry"][0])
    0.322
    """
    if name not in climates():
        raise InputError(f"rain.climate: no built-in climate {name!r}; {nearest(name, climates())}")
    text = (files("scenarios") / _FOLDER / f"{name.replace(' ', '_')}.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))

    def column(key: str) -> Floats:
        return np.array([float(row[key]) for row in rows])

    return {
        "p_wet_after_dry": column("p_wet_after_dry"),
        "p_wet_after_wet": column("p_wet_after_wet"),
        "shape": column("gamma_shape"),
        "scale_m": column("gamma_scale_mm") * 1e-3,
    }
