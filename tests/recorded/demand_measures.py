"""What households drawn by the twin come to, by the keys of demand.csv and homes.csv.

`python -m tests.recorded.demand_measures` prints all of it beside what was recorded.
"""

from collections.abc import Callable
from functools import cache

import numpy as np
import numpy.typing as npt

from sim.scenario.read.load import DEMO, load
from sim.scenario.values.variants import sites, spans
from tests.recorded.household import Household, cv, household, next_day, over_mean
from tests.recorded.recorded_cases import recorded, shares, verdict

Floats = npt.NDArray[np.float64]
TABLES = ("demand", "homes")
YEARS = 24
SEEN_L = 0.316  # two pulses of the meter that logged the house of five


@cache
def _home(people: float) -> Household:
    return household(people, YEARS)


def _one(*uses: str) -> Household:
    return _home(1.0).of(*uses) if uses else _home(1.0)


def _seen(house: Household) -> Household:
    """Return the draws that a meter of such pulses sees."""
    return house.where(house.litres >= SEEN_L)


def _loads(house: Household, use: str, fill_gap_s: float) -> int:
    """Return how many loads a machine ran: its draws that follow no other at just the gap of its fills."""
    start_s = house.of(use).start_s
    follows = np.searchsorted(start_s, start_s - fill_gap_s + 0.01) > np.searchsorted(
        start_s, start_s - fill_gap_s - 0.01
    )
    return int(np.sum(~follows))


def _volume_days(people: float) -> float:
    return cv(_home(people).by_day(_home(people).litres))


def _next_day(people: float) -> float:
    return next_day(_home(people).by_day(_home(people).litres))


def _weekend() -> float:
    house = _home(3.0)
    litres = house.by_day(house.litres)
    free = (load(DEMO).start.weekday() + np.arange(house.n_days)) % 7 >= 5
    return float(litres[free].mean() / litres[~free].mean())


def _away() -> float:
    house = household(4.0, YEARS, **AS_SHIPPED)
    return float(np.mean(house.by_day(house.litres) < 20.0))


def _between_homes() -> float:
    """Return the cv of the mean shower over homes drawn as --uncertain draws them."""
    scenario = load(DEMO)
    litres = []
    for site in sites(scenario, spans(scenario), 400, 1):
        shower = next(use for use in site.scenario.house.uses if use.name == "shower")
        factor = getattr(site.scenario.house, "habit_factor", 1.0)
        litres.append(shower.duration_s * shower.flow_m3_s * factor)
    return cv(np.array(litres))


def _apart(ours: Floats, name: str) -> float:
    return 0.5 * float(np.abs(ours / ours.sum() - shares(name)).sum())


def _by_hour(house: Household, weights: Floats | None = None) -> Floats:
    return np.bincount((house.start_s % 86400.0 // 3600.0).astype(int), weights, 24)


@cache
def _minutes() -> npt.NDArray[np.int64]:
    return _one().minutes()


def _minute_quantile(share: float) -> float:
    found = _minutes()
    return float(np.quantile(found[found > 0], share))


AS_SHIPPED = {"house.away_spans_per_year": 2.0, "house.guest_days_per_year": 12.0}
MEASURES: dict[str, Callable[[], float]] = {
    "draws": lambda: _one().a_person_and_day(),
    "taps": lambda: _one("tap").a_person_and_day(),
    "taps_seen": lambda: _seen(_one("tap")).a_person_and_day(),
    "toilets": lambda: _one("toilet").a_person_and_day(),
    "showers": lambda: _one("shower").a_person_and_day(),
    "taps_toilets": lambda: _one("tap").start_s.size / _one("toilet").start_s.size,
    "showers_toilets": lambda: _one("shower").start_s.size / _one("toilet").start_s.size,
    "dishwashers_toilets": lambda: (
        _loads(_home(5.0), "dishwasher", 900.0) / _home(5.0).of("toilet").start_s.size
    ),
    "washer_draws": lambda: _one("clothes washer").start_s.size / _loads(_one(), "clothes washer", 600.0),
    "dishwasher_draws": lambda: _one("dishwasher").start_s.size / _loads(_one(), "dishwasher", 900.0),
    "shower_litres": lambda: float(np.median(_one("shower").litres)),
    "shower_litres_cv": lambda: cv(_one("shower").litres),
    "shower_seconds_cv": lambda: cv(_one("shower").seconds),
    "shower_flow": lambda: float(np.median(_one("shower").flow_l_min())),
    "shower_flow_cv": lambda: cv(_one("shower").flow_l_min()),
    "shower_homes": _between_homes,
    "tap_litres": lambda: float(np.median(_one("tap").litres)),
    "tap_litres_cv": lambda: cv(_one("tap").litres),
    "tap_seconds": lambda: float(np.median(_one("tap").seconds)),
    "tap_seconds_cv": lambda: cv(_one("tap").seconds),
    "tap_flow": lambda: float(np.median(_one("tap").flow_l_min())),
    "tap_flow_cv": lambda: cv(_one("tap").flow_l_min()),
    "toilet_litres_cv": lambda: cv(_one("toilet").litres),
    "toilet_seconds": lambda: float(np.median(_one("toilet").seconds)),
    "toilet_flow": lambda: float(np.median(_one("toilet").flow_l_min())),
    "tap_days": lambda: over_mean(_one("tap").by_day()),
    "toilet_days": lambda: over_mean(_one("toilet").by_day()),
    "shower_days": lambda: over_mean(_one("shower").by_day()),
    "draws_days_cv": lambda: cv(_seen(_home(5.0)).by_day()),
    "gap_1_min": lambda: _one().gaps_under(60.0),
    "gap_5_min": lambda: _one().gaps_under(300.0),
    "gap_30_min": lambda: _one().gaps_under(1800.0),
    "run_draws": lambda: 1.0 / (1.0 - _one().gaps_under(300.0)),
    "volume_days_1": lambda: _volume_days(1.0),
    "volume_days_3": lambda: _volume_days(3.0),
    "volume_days_5": lambda: _volume_days(5.0),
    "next_day_1": lambda: _next_day(1.0),
    "next_day_3": lambda: _next_day(3.0),
    "weekend_3": _weekend,
    "away": _away,
    "hours_1": lambda: _apart(_by_hour(_one()), "hours_naples"),
    "hours_3": lambda: _apart(_by_hour(_home(3.0), _home(3.0).litres), "hours"),
    "minute_q50": lambda: _minute_quantile(0.5),
    "minute_q90": lambda: _minute_quantile(0.9),
    "minute_q99": lambda: _minute_quantile(0.99),
    "minute_share": lambda: float(np.mean(_minutes() > 0)),
    "minute_day": lambda: float(_minutes().reshape(-1, 1440).max(axis=1).mean()),
}


@cache
def measured(key: str) -> float:
    """Return ours of one quantity."""
    return MEASURES[key]()


def main() -> None:
    """Print ours beside what was recorded."""
    cases = recorded(*TABLES)
    for case in cases:
        ours = measured(case.key)
        print(f"{case.quantity} ({case.data}): {case.recorded} se {case.se or '-'}")
        print(f"    before {case.before}, now {ours:.3g}: {verdict(case, ours, cases)}; {case.judged}")


if __name__ == "__main__":
    main()
