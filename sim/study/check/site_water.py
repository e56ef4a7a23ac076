"""How dark the water of a site is before its UV unit, on paper."""

import math

from sim.constants import DAY_S, YEAR_DAYS
from sim.plant import uv
from sim.scenario.read.series import RainRecord
from sim.scenario.scenario import Scenario
from sim.study.check.site_supply import wet_days_a_year, yearly_rain_m
from sim.supply import roof


def absorbance_per_m(scenario: Scenario, rain: RainRecord | None = None) -> float:
    """Return the absorbance of the water that reaches the UV unit, or that of a transmittance measured there.

    Returns
    -------
    float
        Decadic, at 254 nm [1/m]: the darker of the first cistern and mean runoff, through spent carbon.
    """
    measured = scenario.design.transmittance
    if measured is not None:
        return float(uv.absorbance_per_m(measured))
    arriving: float = max(scenario.cistern.start_colour_per_m, _runoff_per_m(scenario, rain))
    spent = [1.0 - stage.carbon_floor for stage in scenario.stages if stage.carbon_bed_m3 > 0]
    return float(arriving * math.prod(spent))


def _runoff_per_m(scenario: Scenario, rain: RainRecord | None) -> float:
    """Mean of the runoff of mean wet days, evenly apart, behind the first flush."""
    source, days = scenario.roof, wet_days_a_year(scenario, rain)
    depth_m = yearly_rain_m(scenario, rain) / days - source.wetting_loss_m if days > 0 else 0.0
    kept_m = depth_m - source.first_flush_m
    if kept_m <= 0.0:
        return float(source.colour_base_per_m)
    dry_s = YEAR_DAYS / days * DAY_S
    store = roof.dust_after(0.0, dry_s, source.colour_limit_mm_per_m * 1e-3, source.dust_time_s)
    flushed = roof.washed(store, source.first_flush_m, source.dust_washoff_per_m)
    washed = roof.washed(store, depth_m, source.dust_washoff_per_m) - flushed
    return float(source.colour_base_per_m + washed / kept_m)
