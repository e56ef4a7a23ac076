"""Drawn households in the figures in which recorded ones are told: counts, sizes, gaps, days, minutes."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sim.scenario.read.load import DEMO, load
from sim.scenario.values.numbers import with_values
from sim.twin.common import common_inputs

Floats = npt.NDArray[np.float64]
DAY_S, LITRE_M3 = 86400.0, 1e-3
AT_HOME = {"house.away_spans_per_year": 0.0, "house.guest_days_per_year": 0.0}


@dataclass(frozen=True, eq=False)
class Household:
    """The draws of one household that never goes away; flows at the reference pressure."""

    people: float
    n_days: int
    start_s: Floats
    use: npt.NDArray[np.str_]
    litres: Floats
    seconds: Floats

    def of(self, *names: str) -> "Household":
        """Return the draws of these uses alone."""
        return self.where(np.isin(self.use, names))

    def where(self, chosen: npt.NDArray[np.bool_]) -> "Household":
        """Return the draws that are chosen."""
        return Household(
            self.people,
            self.n_days,
            self.start_s[chosen],
            self.use[chosen],
            self.litres[chosen],
            self.seconds[chosen],
        )

    def a_person_and_day(self) -> float:
        """Return draws a person and day."""
        return self.start_s.size / self.people / self.n_days

    def by_day(self, weights: Floats | None = None) -> Floats:
        """Return the number of draws of each day, or the sum of the weights."""
        day = (self.start_s // DAY_S).astype(np.int64)
        return np.bincount(day, weights, self.n_days)[: self.n_days].astype(np.float64)

    def flow_l_min(self) -> Floats:
        """Return the mean flow of each draw."""
        return 60.0 * self.litres / self.seconds

    def gaps_under(self, seconds: float) -> float:
        """Return the share of draws that begin so soon after the one before."""
        return float(np.mean(np.diff(self.start_s) < seconds))

    def minutes(self) -> npt.NDArray[np.int64]:
        """Return what a meter of whole litres shows in each minute."""
        edges_s = np.arange(1, self.n_days * 1440 + 1) * 60.0
        at_s = np.concatenate([self.start_s, self.start_s + self.seconds])
        slope = np.concatenate([self.litres / self.seconds, -self.litres / self.seconds])
        order = np.argsort(at_s, kind="stable")
        at_s, slope = at_s[order], np.cumsum(slope[order])
        total = np.concatenate([[0.0], np.cumsum(slope[:-1] * np.diff(at_s))])
        litres = np.floor(np.interp(edges_s, at_s, total) + 1e-9)
        return np.diff(litres, prepend=0.0).astype(np.int64)


def household(people: float, years: int, **changed: float) -> Household:
    """Draw a household of the demo's habits."""
    scenario = with_values(load(DEMO), AT_HOME | {"house.people": people} | changed)
    common = common_inputs(scenario, 0, 1, years)
    draws, uses = common.draws, scenario.house.uses
    flow = draws.coefficient * np.sqrt([use.reference_pa for use in uses])[draws.use]
    timed = np.isfinite(draws.duration_s)
    volume_m3 = np.where(timed, np.where(timed, draws.duration_s, 0.0) * flow, draws.volume_m3)
    return Household(
        people,
        common.n_days,
        draws.start_s,
        np.array(common.use_names)[draws.use],
        volume_m3 / LITRE_M3,
        np.where(timed, draws.duration_s, volume_m3 / flow),
    )


def cv(values: Floats) -> float:
    """Return the coefficient of variation."""
    return float(np.std(values) / np.mean(values))


def over_mean(counts: Floats) -> float:
    """Return variance over mean."""
    return float(np.var(counts) / np.mean(counts))


def next_day(values: Floats) -> float:
    """Return the correlation of a day with the next."""
    return float(np.corrcoef(values[:-1], values[1:])[0, 1])
