"""Cistern and rain held against their criteria."""

from collections.abc import Iterator
from dataclasses import replace

from sim.constants import DAY_S, YEAR_DAYS
from sim.scenario.read.series import RainRecord
from sim.scenario.scenario import Scenario
from sim.study.check.criterion import PASS, Judged, judge, tell
from sim.study.check.site_supply import share_covered, yearly_demand_m3
from sim.supply.rain import month_index
from sim.supply.rain_spread import whole_years
from sim.supply.record import years_of
from sim.units import Units, text

MAINS_LEAD_D = 0.5  # of demand kept above the intake [A]
FEWEST_YEARS = 3  # with fewer a spread says nothing


def supply(scenario: Scenario, rain: RainRecord | None, units: Units) -> Iterator[Judged]:
    """Hold cistern and rain against their criteria."""
    covered = share_covered(scenario, rain)[0]
    yield _reliability(scenario, covered, units)
    yield _levels(scenario, units)
    seen = scenario.design.overflow_screened
    words = {None: "", True: "seen on site", False: "smaller, or without trap or screen"}[seen]
    note = "[design] overflow_screened is not stated" if seen is None else ""
    yield tell("overflow", seen, words, note)
    if rain is None:
        note = "no record: rain is made from a table of a climate"
        yield judge("rain record", None, units, note=note)
        yield judge("rain spread", None, units, note=note)
        return
    yield judge("rain record", float(years_of(rain.depth_m, rain.dates).complete.size), units)
    yield _spread(rain, units)


def _reliability(scenario: Scenario, covered: float, units: Units) -> Judged:
    found = judge("reliability", covered, units)
    store = scenario.cistern
    if found.state == PASS:
        return found
    if store.mains_m3_s is not None and store.mains_m3_s * DAY_S * YEAR_DAYS >= yearly_demand_m3(scenario):
        return _brought(
            found, "mains water", "mains water brings the rest, and is in the cost of a comparison"
        )
    if store.top_up_below == 0:
        return found
    return _brought(found, "tankers", "tankers bring the rest, and are in the cost of a comparison")


def _brought(found: Judged, by: str, note: str) -> Judged:
    """Return the criterion passed, as others bring what the roof does not."""
    return replace(found, state=PASS, margin="", wanted=f"{found.wanted}, or {by}", note=note)


def _levels(scenario: Scenario, units: Units) -> Judged:
    store = scenario.cistern
    if store.mains_m3_s is not None:
        return _mains_level(scenario, units)
    if store.top_up_below == 0:
        return judge("levels", None, units, note="no tanker is ever ordered (top_up_below = 0)")
    trigger_m3 = store.top_up_below * store.capacity_m3
    dry_m3 = store.intake_m * store.floor_m2
    needed_m3 = dry_m3 + yearly_demand_m3(scenario) / YEAR_DAYS * store.top_up_lead_s / DAY_S
    never = "" if trigger_m3 > dry_m3 else "the cistern never sinks to it: no tanker comes; "
    return judge(
        "levels", trigger_m3, units, needed_m3, note=f"{never}dry below {text(dry_m3, 'volume', units)}"
    )


def _mains_level(scenario: Scenario, units: Units) -> Judged:
    """Hold where mains water comes in against the intake: it comes at once, so hours are enough."""
    store = scenario.cistern
    dry_m3 = store.intake_m * store.floor_m2
    needed_m3 = dry_m3 + MAINS_LEAD_D * yearly_demand_m3(scenario) / YEAR_DAYS
    dry = text(dry_m3, "volume", units)
    note = (
        f"mains behind the rain, {MAINS_LEAD_D:g} d of demand kept, our assumption; dry below {dry}; the air "
        "gap is what keeps cistern water out of the mains (EN 1717; local codes and licensed practice come "
        "first)"
    )
    return judge("levels", store.mains_below_m3, units, needed_m3, note=note)


def _spread(rain: RainRecord, units: Units) -> Judged:
    """Hold the spread of years: with a record runs take its own years, so that it is the same."""
    if whole_years(rain.depth_m, month_index(rain.dates))[0].shape[0] < FEWEST_YEARS:
        return judge("rain spread", None, units, note=f"fewer than {FEWEST_YEARS} whole years are recorded")
    return judge("rain spread", 1.0, units, note="runs take the recorded years themselves")
