"""Which numbers of a site nobody has measured, over what spans they are drawn, and the sites so drawn."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from pydantic import ValidationError

from sim.errors import InputError
from sim.scenario.nearest import nearest
from sim.scenario.scenario import Scenario
from sim.scenario.values.grades import SAMPLED, base_grades
from sim.scenario.values.numbers import Number, numbers, with_values
from sim.scenario.values.ranges import Range, in_si, ranges

Values = dict[str, float]
_STREAM = 7919  # keeps these chances apart from those of the runs
_MOST_REDRAWS = 1000
_ASSUMED = "A"  # grade of a number that base.toml does not have


@dataclass(frozen=True)
class Span:
    """One uncertain input and where it is drawn."""

    key: str  # key in the file
    low: float  # bounds, in SI
    high: float
    kind: str | None  # kind of quantity; None for a plain number
    logarithmic: bool = False  # whether it is drawn evenly in the logarithm
    whole: bool = False  # whether it counts something
    grade: str = _ASSUMED  # grade of the value, from base.toml

    def at(self, share: float) -> float:
        """Return the value a share of the way through the span.

        Parameters
        ----------
        share : float
            Evenly drawn [fraction, 0 to below 1].

        Returns
        -------
        float
            Value, in SI.
        """
        if self.logarithmic:
            value = float(self.low * (self.high / self.low) ** share)
        else:
            value = self.low + share * (self.high - self.low)
        return float(round(value)) if self.whole else min(max(value, self.low), self.high)


@dataclass(frozen=True)
class Site:
    """One draw of the uncertain inputs."""

    number: int  # which draw, from 0
    values: Values  # value by key
    scenario: Scenario  # the site with these values
    redrawn: int  # how often values that do not go together were drawn anew


def spans(scenario: Scenario, known: Collection[str] = ()) -> tuple[Span, ...]:
    """Return the inputs that are uncertain at a site; refused when a known key is not an uncertain one.

    Parameters
    ----------
    scenario : Scenario
        The site.
    known : collection of str
        Keys that were measured at this site and are kept.

    Returns
    -------
    tuple of Span
        Numbers a file states whose role in scenarios/ranges.csv is "uncertain" and whose grade in base.toml
        is not S (A when they are not in it). About the site's own value, cut to the range. Prices, choices
        and what can be read off the site are not among them.
    """
    found = {span.key: span for number in numbers(scenario) if (span := _span(number, scenario))}
    for key in known:
        if key not in found:
            raise InputError(f"known: {key!r} is not among the uncertain inputs; {nearest(key, found)}")
    return tuple(span for key, span in found.items() if key not in known)


def sites(scenario: Scenario, uncertain: tuple[Span, ...], count: int, seed: int) -> list[Site]:
    """Draw sites.

    Parameters
    ----------
    scenario : Scenario
        The site as it is stated.
    uncertain : tuple of Span
        What is drawn.
    count : int
        Draws, >= 1.
    seed : int
        Root of chance, >= 0.

    Returns
    -------
    list of Site
        A Latin hypercube over the spans; a draw whose values do not go together is drawn anew, by plain
        chance.

    References
    ----------
    McKay, Beckman & Conover 1979, Technometrics 21:239 (Latin hypercube sampling).
    """
    root = np.random.SeedSequence(seed, spawn_key=(_STREAM,))
    from scipy.stats import qmc  # noqa: PLC0415  takes half a second; only what is uncertain needs it

    shares = qmc.LatinHypercube(d=len(uncertain), rng=np.random.default_rng(root)).random(count)
    return [_site(scenario, uncertain, number, shares[number], seed) for number in range(count)]


def seed_of(seed: int, number: int) -> int:
    """Return the root of chance of one draw, so that no two draws meet the same weather.

    Parameters
    ----------
    seed : int
        Root of the study, >= 0.
    number : int
        Draw, from 0.

    Returns
    -------
    int
        Root of chance, >= 0.
    """
    state = np.random.SeedSequence(seed, spawn_key=(_STREAM, 1, number)).generate_state(1, np.uint32)
    return int(state[0])


def _site(
    scenario: Scenario, uncertain: tuple[Span, ...], number: int, share: npt.NDArray[np.float64], seed: int
) -> Site:
    rng = np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(_STREAM, 2, number)))
    for redrawn in range(_MOST_REDRAWS):
        values: Values = {span.key: span.at(float(u)) for span, u in zip(uncertain, share, strict=True)}
        try:
            return Site(number, values, with_values(scenario, _typed(uncertain, values)), redrawn)
        except ValidationError:
            share = rng.random(len(uncertain))
    raise InputError("the ranges of the uncertain inputs leave no site that can be built")


def _typed(uncertain: tuple[Span, ...], values: Values) -> Mapping[str, float | str]:
    return {span.key: int(values[span.key]) if span.whole else values[span.key] for span in uncertain}


def _span(number: Number, scenario: Scenario) -> Span | None:
    found = ranges().get(number.kind_key)
    if found is None or found.role != "uncertain" or not number.stated or _not_there(number, scenario):
        return None
    graded = base_grades().get(number.key)
    grade = graded.grade if graded else _ASSUMED
    if grade not in SAMPLED:
        return None
    low, high = _about(number, found)
    if not low < high:
        return None
    logarithmic = found.spread.startswith("factor") and low > 0
    return Span(number.key, low, high, number.kind, logarithmic, number.whole, grade=grade)


_OF_PUMP = ("pump.", "pressure_switch.", "pressure_tank.")


def _not_there(number: Number, scenario: Scenario) -> bool:
    """Return whether a number is of what the site has not: carbon in a stage, a restrictor, a pump."""
    if scenario.cistern.gravity_feed and number.kind_key.startswith(_OF_PUMP):
        return number.kind_key != "pump.height"
    if number.kind_key.startswith("uv.restrictor_"):
        return scenario.uv.restrictor_m3_s is None
    beds = {stage.name: stage.carbon_bed_m3 for stage in scenario.stages}
    stage = number.key.partition("[")[2].partition("]")[0]
    return number.kind_key.startswith("stage.carbon_") and beds[stage] == 0


def _about(number: Number, found: Range) -> tuple[float, float]:
    """Return the span about a value, cut to the range; a value outside it keeps its own side."""
    least, most = found.bounds(number.kind)
    how, _, amount = found.spread.partition(" ")
    value = number.value
    if how == "factor":
        low, high = sorted((value / float(amount), value * float(amount)))
    elif how == "plus":
        low, high = value - in_si(amount, number.kind), value + in_si(amount, number.kind)
    else:
        low, high = least, most
    return min(value, max(low, least)), max(value, min(high, most))
