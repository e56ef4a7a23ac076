"""Metered draws beside the household of the site: as many, as much, as bunched, days as unlike?"""

from collections.abc import Iterator
from dataclasses import asdict
from typing import Any, cast

import numpy as np

from sim.constants import YEAR_DAYS
from sim.demand.draw_spread import by_day, spread_errors, spread_of
from sim.demand.trace import DrawTrace, from_record
from sim.scenario.scenario import Scenario
from sim.study.check.criterion import words
from sim.study.check.finding import Finding, apart
from sim.twin.basis import basis_of
from sim.twin.common import draws_of
from sim.units import ShownKind, text

FEWEST_DAYS = 14  # with fewer the errors themselves are rough; our choice
LEAST_SHARE_TOLD = 0.01  # of ours: beside less than that a percentage says nothing
FAR = 4.0  # standard errors of the difference
DRAWN_YEARS, DRAWN_SEED = 4, 0  # of the household; the seed only makes them the same each time
_LABELS = {
    "draws_per_day": ("draws a day", ""),
    "volume_m3": ("water a day", "volume"),
    "volume_cv": ("spread of water a day", "share"),
    "minute_flow_m3_s": ("highest minute of a day", "flow"),
    "within_1_min_share": ("draws within 1 min of the one before", "share"),
    "within_5_min_share": ("draws within 5 min of the one before", "share"),
    "within_30_min_share": ("draws within 30 min of the one before", "share"),
}


def recorded_draws(scenario: Scenario, draws: dict[str, Any] | None, units: str) -> Iterator[Finding]:
    """Say what metered draws come to, and what the household of the site would draw in their place.

    Parameters
    ----------
    units : str
        "us" or "si".
    """
    if draws is None:
        return
    metered = _rows(from_record(**draws), np.sqrt(draws["reference_pa"]))
    days = metered.shape[0]
    few = days < FEWEST_DAYS
    note = f"wanted {FEWEST_DAYS} or more for a comparison; better some months" if few else ""
    yield Finding("days with metered draws", f"{days}", note, few)
    if few:
        return
    n_days = round(DRAWN_YEARS * YEAR_DAYS)
    household = draws_of(basis_of(scenario), n_days, DRAWN_SEED, 0)
    reference_pa = np.array([use.reference_pa for use in scenario.house.uses])[household.use]
    ours = _rows(household, np.sqrt(reference_pa))
    if ours.shape[0] < FEWEST_DAYS:
        yield Finding("household of the site", "uses hardly any water", warning=True)
        return
    yield from _beside(metered, ours, units)


def _beside(metered: np.ndarray, ours: np.ndarray, units: str) -> Iterator[Finding]:
    """Yield a line for each statistic: recorded with its error, ours, and how far apart they are."""
    found, errors = asdict(spread_of(metered)), asdict(spread_errors(metered))
    made, chance = asdict(spread_of(ours)), asdict(spread_errors(ours))
    for key, (label, kind) in _LABELS.items():
        far = abs(made[key] - found[key]) > FAR * float(np.hypot(errors[key], chance[key]))
        told = found[key] > LEAST_SHARE_TOLD * made[key]
        gap = f", {apart(made[key] / found[key])}" if told else ""
        said = f"{_shown(found[key], kind, units)} ± {_shown(errors[key], kind, units)}"
        yield Finding(label, said, f"household of the site: {_shown(made[key], kind, units)}{gap}", far)


def _rows(trace: DrawTrace, root_pressure: np.ndarray | float) -> np.ndarray:
    """Return the days of a trace, its flows at the pressures they are stated at."""
    flow_m3_s = trace.coefficient * root_pressure
    timed = np.isfinite(trace.duration_s)
    duration_s = np.where(timed, trace.duration_s, np.where(timed, 0.0, trace.volume_m3) / flow_m3_s)
    return by_day(trace.start_s, duration_s * flow_m3_s, duration_s)


def _shown(value: float, kind: str, units: str) -> str:
    if kind == "share":
        return words(value, "share", "si")
    return text(value, cast("ShownKind", kind), units) if kind else f"{value:.1f}"
