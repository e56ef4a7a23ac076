"""One sign in words: as somebody told of both runs reads it, and as a person in the house sees it."""

from datetime import date

from sim.outcome.signs import Sign
from sim.study.compare.causes_said import ORIGINS
from sim.study.dates import spelled
from sim.study.wording import counted, number, percent
from sim.units import Units, shown, text


def sentence(sign: Sign, start: date, units: Units) -> str:
    """Return one sign in words, with what it would have been and its logged cause."""
    value, kept = (_amount(sign.what, amount, units) for amount in (sign.value, sign.kept))
    origin = f" {ORIGINS[sign.cause]}" if sign.cause else ""
    instead = {
        "reading": f", where it would have read {kept}",
        "alarm": f", where it would have read {kept}",
        "drop": f", where it would have been {kept}",
        "pump starts": f", where it would have started {kept}",
        "water off": origin,
        "below target": origin,
    }.get(sign.what, "")
    return f"{spelled(sign.on(start))}: {_plain(sign, value, origin)}{instead}."


def seen(sign: Sign, start: date, units: Units) -> str:
    """Return one sign as a person in the house sees it, who knows neither causes nor the other run."""
    return f"{spelled(sign.on(start))}: {_plain(sign, _amount(sign.what, sign.value, units))}."


def span(time_s: float) -> str:
    """Return a time in minutes, from two hours on in hours.

    Parameters
    ----------
    time_s : float
        Time [s].
    """
    return f"{number(time_s / 60.0)} min" if time_s < 7200.0 else f"{number(time_s / 3600.0)} h"


def _plain(sign: Sign, value: str, origin: str = "") -> str:
    return {
        "reading": f"the UV monitor read {value}",
        "alarm": f"the UV alarm was on{origin}; at the end of the day the monitor read {value}",
        "drop": f"the gauges showed a drop of {value} over {sign.subject}",
        "drop limit": f"the drop over {sign.subject} passed the one at which the cartridge is due: {value}",
        "weak taps": f"the taps ran weak for {value} of the day",
        "water off": f"the taps were dry for {value} of the day",
        "pump starts": f"the pump started {value}",
        "failure": f"{sign.subject} failed",
        "below target": f"{value} reached the house below the dose target",
    }[sign.what]


def _amount(what: str, value: float, units: Units) -> str:
    if what in ("reading", "alarm"):
        return percent(value)
    if what in ("drop", "drop limit"):
        return text(value, "pressure", units)
    if what in ("weak taps", "water off"):
        return span(value)
    if what == "below target":
        size, unit = shown(value, "volume", units)
        return f"{number(size)} {unit}"
    return counted(round(value), "time")
