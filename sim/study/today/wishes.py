"""Which reading would help most: how much narrower the date or the dose becomes when it is known."""

from dataclasses import dataclass

import numpy as np

from sim.diary.forecast import UV_PART
from sim.diary.parts.axes import Floats
from sim.diary.parts.stage import ONE_TAP_CV, STATED_CV
from sim.diary.picture import Picture
from sim.scenario.scenario import Scenario
from sim.study.today.parts import HIGH, LOW, uv_days

BINS = 20
LEAST_SHARE = 0.05  # narrower by less is not worth asking for
_SEED = 5_772_156


@dataclass(frozen=True)
class Wish:
    """A reading that is wanted.

    Attributes
    ----------
    reading : str
        What to read, in the words of a diary.
    how : str
        How, where that matters.
    about : str
        What becomes better known: the date of a part, or "dose".
    narrower_share : float
        By how much of its width its range becomes narrower, on average.
    """

    reading: str
    how: str
    about: str
    narrower_share: float


def wishes(scenario: Scenario, seen: Picture) -> tuple[Wish, ...]:
    """Return the readings that would help, the most useful first."""
    found = []
    rng = np.random.default_rng(np.random.SeedSequence(_SEED))
    gauge, uv_sd = scenario.gauge.reading_sd_pa, scenario.gauge.uv_reading_sd
    for part, outlook in zip(seen.parts.stages, seen.stages, strict=True):
        for how, cv in (
            ("one tap open", ONE_TAP_CV),
            ("with the flow measured by bucket and watch", STATED_CV),
        ):
            noise = np.hypot(gauge, cv * outlook.drop_pa)
            read = outlook.drop_pa + noise * rng.standard_normal(outlook.drop_pa.size)
            share = narrower(read, outlook.days)
            found.append(Wish(f"drop over {part.name}", how, part.name, share))
    light, dose = seen.uv.light[:, 0], seen.uv.dose_j_m2[:, 0]
    read = light + uv_sd * rng.standard_normal(light.size)
    found.append(Wish("UV", "", UV_PART, narrower(read, uv_days(seen))))
    wiped = light / np.maximum(seen.uv.window_share, 1e-6)
    after = wiped + uv_sd * rng.standard_normal(light.size)
    found.append(Wish("UV", "wipe the sensor window, then read again", "dose", narrower(after, dose)))
    best: dict[str, Wish] = {}
    for wish in sorted(found, key=lambda one: -one.narrower_share):
        best.setdefault(wish.about, wish)
    return tuple(one for one in best.values() if one.narrower_share >= LEAST_SHARE)


def narrower(read: Floats, told: Floats) -> float:
    """Return the share by which a range of 8 of 10 becomes narrower, on average, once a reading is known.

    Parameters
    ----------
    read : ndarray
        What would be read, by draw.
    told : ndarray
        What is told, by draw: days, or a dose.

    Examples
    --------
    >>> even = np.linspace(0.0, 1.0, 4000)
    >>> narrower(even, 100.0 * even) > 0.9
    True
    """
    whole = _width(told)
    if whole <= 0.0:
        return 0.0
    groups = np.array_split(told[np.argsort(read, kind="stable")], BINS)
    return max(0.0, 1.0 - float(np.mean([_width(group) for group in groups])) / whole)


def _width(values: Floats) -> float:
    low, high = np.quantile(values, [LOW, HIGH])
    return float(high - low)
