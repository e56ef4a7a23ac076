"""The rain of a run: years of a record, or the generator at the site's climate and weather."""

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from sim.constants import DAY_S
from sim.scenario.catchment import RainSource
from sim.scenario.climate import table
from sim.scenario.read.series import RainRecord
from sim.supply import rain, record
from sim.supply.weather import Weather

Floats = npt.NDArray[np.float64]


def rain_m(
    source: RainSource,
    found: RainRecord | None,
    start: np.datetime64,
    n_days: int,
    replication: int,
    rng: np.random.Generator,
) -> Floats:
    """Return the depth of each day of a run [m]."""
    if found is None:
        return rain.generate(statistics(source), rain.month_index(start + np.arange(n_days)), rng)
    if source.years == "in order":
        return record.in_order(found.depth_m, found.dates, start, n_days, replication)
    return record.resample_years(found.depth_m, found.dates, start, n_days, rng)


def weather(source: RainSource) -> Weather:
    """Return the weather of a site."""
    return Weather(source.weather_memory_s / DAY_S, source.wetness_spread, source.depth_spread)


def statistics(source: RainSource) -> rain.RainStatistics:
    """Return the parameters of the generator at a site; sites of one climate and weather share them."""
    return _statistics(source.climate, weather(source))


@lru_cache(maxsize=64)
def _statistics(climate: str, held: Weather) -> rain.RainStatistics:
    return rain.RainStatistics(**table(climate), weather=held)
