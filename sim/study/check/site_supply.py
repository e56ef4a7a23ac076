"""What rain, roof and cistern come to on paper: yield, demand, and how much of it the cistern can cover."""

import math
from collections.abc import Iterator

import numpy as np

from sim.constants import YEAR_DAYS
from sim.scenario.climate import table
from sim.scenario.read.series import RainRecord
from sim.scenario.scenario import Scenario
from sim.study.check.finding import Finding
from sim.study.wording import percent
from sim.supply import rain as rain_equations
from sim.supply import roof as roof_equations
from sim.supply.storage import yield_after_spillage, yield_before_spillage
from sim.twin.common import end_uses
from sim.twin.rainfall import statistics
from sim.units import Units, text

_MONTH_DAYS = np.array([31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
PAPER_YEARS, PAPER_SEED = 50, 0  # generated years of the storage figure; the seed makes it the same each time


def supply(scenario: Scenario, units: Units, rain: RainRecord | None) -> Iterator[Finding]:
    """Say what rain, roof and cistern come to."""
    source = "mean of the record" if rain is not None else f"table of {scenario.rain.climate!r}"
    roof_m3, demand_m3 = yearly_roof_m3(scenario, rain), yearly_demand_m3(scenario)
    yield Finding("rain a year", text(yearly_rain_m(scenario, rain), "rain", units), source)
    yield Finding("roof yield a year", text(roof_m3, "volume", units), "before first flush and overflow")
    note = f"roof yield is {percent(roof_m3 / demand_m3)} of it" if demand_m3 > 0 else "no use of water"
    yield Finding("demand a year", text(demand_m3, "volume", units), note, roof_m3 < demand_m3)
    days = scenario.cistern.capacity_m3 / demand_m3 * YEAR_DAYS if demand_m3 > 0 else math.inf
    yield Finding(
        "cistern, full", text(scenario.cistern.capacity_m3, "volume", units), f"{days:.0f} days of demand"
    )
    least, most = share_covered(scenario, rain)
    yield Finding(
        "share of demand the roof covers",
        " to ".join(dict.fromkeys(percent(share) for share in (least, most))),
        "daily storage rules, spill first and use first; even demand, no first flush",
        least < 0.9,
    )


def yearly_rain_m(scenario: Scenario, rain: RainRecord | None = None) -> float:
    """Return the mean depth of rain a year."""
    if rain is not None:
        return float(rain.depth_m.mean() * YEAR_DAYS)
    return float((_wet_days(scenario) * _wet_depth_m(scenario)).sum())


def wet_days_a_year(scenario: Scenario, rain: RainRecord | None = None) -> float:
    """Return on how many days of a year it rains, on average."""
    if rain is not None:
        return float((rain.depth_m >= scenario.rain.wet_day_m).mean() * YEAR_DAYS)
    return float(_wet_days(scenario).sum())


def yearly_roof_m3(scenario: Scenario, rain: RainRecord | None = None) -> float:
    """Return the mean runoff of the roof a year, before first flush and overflow.

    Notes
    -----
    From a record day by day. From a table the wetting loss is taken off every wet day in full, also off days
    with less rain than that, so the yield is a little low.
    """
    roof = scenario.roof
    if rain is not None:
        excess_m = float(np.maximum(0.0, rain.depth_m - roof.wetting_loss_m).mean() * YEAR_DAYS)
    else:
        lost_m = np.maximum(0.0, _wet_depth_m(scenario) - roof.wetting_loss_m)
        excess_m = float((_wet_days(scenario) * lost_m).sum())
    return float(excess_m * roof.coefficient * roof.area_m2)


def yearly_demand_m3(scenario: Scenario) -> float:
    """Return the mean water used a year by the people of the house, without guests, absences and leaks.

    Returns
    -------
    float
        Volume [m3/year], at the reference pressures of the uses.
    """
    uses = end_uses(scenario.house)
    daily = sum(use.events_per_person_day * use.occupied_s * use.flow_m3_s for use in uses)
    return float(daily) * scenario.house.people * YEAR_DAYS


def share_covered(scenario: Scenario, rain: RainRecord | None = None) -> tuple[float, float]:
    """Return the share of demand a cistern of this size covers, by the two daily storage rules.

    Returns
    -------
    tuple of float
        Yield after and before spillage over demand, 0 to 1; they enclose what happens within a day.

    References
    ----------
    Jenkins et al. 1978; Fewkes & Butler 2000, Building Serv. Eng. Res. Technol. 21:99.
    """
    depth_m = _paper_rain_m(scenario) if rain is None else rain.depth_m
    roof, store = scenario.roof, scenario.cistern
    wet = depth_m > 0.0  # no rain, no runoff: two days in three need no asking
    inflow_m3 = np.zeros(depth_m.size)
    inflow_m3[wet] = [
        roof.area_m2 * roof_equations.runoff_depth_m(float(x), roof.wetting_loss_m, roof.coefficient)
        for x in depth_m[wet]
    ]
    demand_m3 = np.full(inflow_m3.size, yearly_demand_m3(scenario) / YEAR_DAYS)
    if not demand_m3.sum() > 0.0:
        return 1.0, 1.0
    usable_m3 = store.capacity_m3 - store.intake_m * store.floor_m2
    rules = (yield_after_spillage, yield_before_spillage)
    shares = [
        float(rule(inflow_m3, demand_m3, usable_m3, 0.5 * usable_m3)[0].sum() / demand_m3.sum())
        for rule in rules
    ]
    return shares[0], shares[1]


def _paper_rain_m(scenario: Scenario) -> np.ndarray:
    days = np.datetime64("2001-01-01") + np.arange(round(PAPER_YEARS * YEAR_DAYS))
    months = rain_equations.month_index(days)
    return rain_equations.generate(statistics(scenario.rain), months, np.random.default_rng(PAPER_SEED))


def _wet_days(scenario: Scenario) -> np.ndarray:
    return np.asarray(statistics(scenario.rain).p_wet() * _MONTH_DAYS)


def _wet_depth_m(scenario: Scenario) -> np.ndarray:
    climate = table(scenario.rain.climate)
    return np.asarray(climate["shape"] * climate["scale_m"])
