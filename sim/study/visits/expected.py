"""The UV reading to expect after a full cleaning, from lamp hours and the site's own clean readings."""

import math
from dataclasses import dataclass

from sim.constants import HOUR_S
from sim.errors import InputError
from sim.plant import lamp
from sim.scenario.train import Uv

LOW_AT_END = 0.65  # of the output of a new lamp at its rated life: the weakest lamps told of, second-hand
HOURS = (0, 100, 1000, 3000, 4500, 6000, 8760, 12000)


@dataclass(frozen=True)
class Clean:
    """A reading right after a full cleaning."""

    reading_fraction: float  # 0.92 for a display of 92
    lamp_h: float


def lamp_output(lamp_h: float, end_fraction: float, uv: Uv) -> float:
    """Return the light of a lamp over that of a new one.

    Parameters
    ----------
    lamp_h : float
        Hours lit [h].
    end_fraction : float
        Output at the rated life over that of a new lamp.
    uv : Uv
        Rated life and burn-in.

    Returns
    -------
    float
        From 0 to 1, as `sim.plant.lamp.output` with the end told without burn-in.
    """
    fade_s = lamp.time_constant_from(end_fraction, uv.rated_life_s)
    return lamp.output(lamp_h * HOUR_S, fade_s, uv.burn_in_s, uv.burn_in_loss)


def expected(uv: Uv, lamp_h: float, clean: Clean | None = None) -> tuple[float, float, float]:
    """Return the reading to expect, and the band of lamps around it, of 100.

    Parameters
    ----------
    clean : Clean, optional
        The site's own last clean reading, which the lamp's ageing since carries on; a new lamp at 100 else.
    """
    start = clean or Clean(1.0, 0.0)
    best, low = (
        100.0 * start.reading_fraction * lamp_output(lamp_h, end, uv) / lamp_output(start.lamp_h, end, uv)
        for end in (uv.output_at_end, min(LOW_AT_END, uv.output_at_end))
    )
    return best, min(best, low), max(best, low)


def expected_rows(uv: Uv, clean: Clean | None) -> list[tuple[str, str]]:
    """Return lamp hours and the reading in words, such as "80 (65 to 80)"."""
    since_h = clean.lamp_h if clean else 0.0
    rows = []
    for hours in HOURS:
        if hours >= since_h:
            best, low, high = (round(value) for value in expected(uv, hours, clean))
            rows.append((f"{hours:,}", f"{best} ({low} to {high})"))
    return rows


def read_clean(words: str | None) -> Clean | None:
    """Read a clean reading, such as "92@3000": percent at lamp hours.

    Raises
    ------
    InputError
        When it cannot be read.
    """
    if words is None:
        return None
    reading, at, hours = words.partition("@")
    try:
        found = Clean(float(reading.rstrip(" %")) / 100.0, float(hours))
    except ValueError:
        found = Clean(math.nan, math.nan)
    if not at or not (0.0 < found.reading_fraction <= 1.1 and 0.0 <= found.lamp_h <= 1e5):
        raise InputError(f"--clean is {words!r}; wanted a reading and lamp hours, such as 92@3000")
    return found
