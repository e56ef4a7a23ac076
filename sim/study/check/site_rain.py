"""A rain record beside the generator: are years as unlike, dry runs as long?"""

from collections.abc import Iterator
from dataclasses import astuple, replace

from sim.scenario.read.series import RainRecord
from sim.scenario.scenario import Scenario
from sim.study import rain_record
from sim.study.check.criterion import words
from sim.study.check.finding import Finding, apart
from sim.supply.rain import fit, generated_spread, month_index
from sim.supply.rain_spread import Spread, spread_errors, spread_of, whole_years
from sim.supply.record import years_of
from sim.twin.rainfall import weather
from sim.units import text

FEWEST_YEARS = 3  # with fewer there is no error to tell


def recorded(scenario: Scenario, rain: RainRecord | None, units: str) -> Iterator[Finding]:
    """Say what a record rests on, and how generated rain with its monthly values compares.

    Parameters
    ----------
    units : str
        "us" or "si".
    """
    if rain is None:
        return
    complete = years_of(rain.depth_m, rain.dates).complete.size
    for sentence in rain_record.said(rain):
        yield Finding("rain record", sentence, warning=complete < rain_record.FEW_YEARS)
    month = month_index(rain.dates)
    years = whole_years(rain.depth_m, month)
    if years[0].shape[0] < FEWEST_YEARS:
        return
    fitted = fit(rain.depth_m, month, scenario.rain.wet_day_m)
    found, errors = spread_of(*years), spread_errors(*years)
    generated = spread_made(scenario, rain)
    for (label, kind), value, error, made in zip(
        _LABELS, astuple(found), astuple(errors), astuple(generated), strict=True
    ):
        gap = apart(made / value) if value > 0.0 else "none recorded"
        note = f"generated rain, which no run takes: {_shown(made, kind, units)}, {gap}"
        yield Finding(label, f"{_shown(value, kind, units)} ± {_shown(error, kind, units)}", note)
    held = fitted.weather
    yield Finding(
        "weather fitted to the record",
        f'weather_memory = "{held.memory_days:.1f} d", wetness_spread = {held.wetness_spread:.2f}, '
        f"depth_spread = {held.depth_spread:.2f}",
        "what [rain] would say for rain generated here",
    )


def spread_made(scenario: Scenario, rain: RainRecord) -> Spread:
    """Return the spread of rain generated with the monthly values of a record and the weather of a site."""
    fitted = fit(rain.depth_m, month_index(rain.dates), scenario.rain.wet_day_m)
    return generated_spread(replace(fitted, weather=weather(scenario.rain)))


_LABELS = tuple(
    zip(
        (
            "spread of yearly rain",
            "spread of monthly rain",
            "longest dry run of a year",
            "rain of the driest 90 days",
            "wettest day of a year",
        ),
        ("share", "rain", "days", "rain", "rain"),
        strict=True,
    )
)
assert len(_LABELS) == len(Spread.__dataclass_fields__)


def _shown(value: float, kind: str, units: str) -> str:
    if kind == "share":
        return words(value, "share", "si")
    return f"{value:.1f} d" if kind == "days" else text(value, "rain", units)
