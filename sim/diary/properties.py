"""What can be read of a house: the words for it, its unit, and what no house shows."""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from sim.errors import InputError
from sim.scenario.nearest import nearest
from sim.scenario.scenario import Scenario
from sim.units import PSI_PA

SWITCH, FINDING = "switch", "finding"  # kinds without a unit
SWITCH_WORDS = {"on": 1.0, "off": 0.0, "1": 1.0, "0": 0.0, "true": 1.0, "false": 0.0}
FINDING_WORDS = {"clear": 0.0, "absent": 0.0, "found": 1.0, "present": 1.0}


@dataclass(frozen=True)
class Property:
    """One thing that can be read.

    Attributes
    ----------
    name : str
        Its words; those of a property of many end where the name of the one begins.
    kind : str
        A key of `sim.units.FACTORS`, or "switch", or "finding".
    unit : str
        The usual unit, taken where a file names none.
    least, most : float
        What is read lies between them in any house, in SI; beyond them it is refused.
    of : str
        "stage" or "tap" where there are many of it.
    """

    name: str
    kind: str
    unit: str
    least: float
    most: float
    of: str = ""


_PROPERTIES = (
    Property("drop over", "pressure", "psi", -1000 * PSI_PA, 1000 * PSI_PA, "stage"),
    Property("seconds to fill 10 L at", "time", "s", 1.0, 3600.0, "tap"),
    Property("pressure at cut-in", "pressure", "psi", 0.0, 1000 * PSI_PA),
    Property("pressure at cut-out", "pressure", "psi", 0.0, 1000 * PSI_PA),
    Property("pressure at rest", "pressure", "psi", 0.0, 1000 * PSI_PA),
    Property("precharge", "pressure", "psi", 0.0, 1000 * PSI_PA),
    Property("UV", "fraction", "%", 0.0, 2.0),
    Property("UV alarm", SWITCH, "", 0.0, 1.0),
    Property("meter", "volume", "m3", 0.0, 1e7),
    Property("cistern level", "length", "mm", 0.0, 50.0),
    Property("cistern share", "fraction", "%", 0.0, 1.0),
    Property("lamp hours", "time", "h", 0.0, 3e9),
    Property("sample", FINDING, "", 0.0, 1.0),
)
DROP, FILL = "drop over", "seconds to fill 10 L at"
_SPACES = re.compile(r"\s+")


def labels(scenario: Scenario) -> tuple[str, ...]:
    """Return all that can be read at a site, by its words."""
    return tuple(_labels(scenario))


def _labels(scenario: Scenario) -> Iterator[str]:
    for one in _PROPERTIES:
        if one.of == "stage":
            yield from (f"{one.name} {stage.name}" for stage in scenario.stages)
        elif one.of == "tap":
            yield f"{one.name} the kitchen tap"
        else:
            yield one.name


def property_of(words: str, scenario: Scenario) -> tuple[Property, str]:
    """Return what is read, and the words for it as they stand in a diary.

    Raises
    ------
    InputError
        When there is no such thing at this site; the nearest is offered.

    Examples
    --------
    >>> from sim.scenario.read.load import load
    >>> property_of("Drop over  Sediment", load("cottage"))[1]
    'drop over sediment'
    """
    plain = _SPACES.sub(" ", words.strip())
    for one in _PROPERTIES:
        if not one.of and plain.casefold() == one.name.casefold():
            return one, one.name
        rest = plain[len(one.name) :].strip()
        if one.of and rest and plain[: len(one.name)].casefold() == one.name.casefold():
            if one.of == "tap":
                return one, f"{one.name} {rest}"
            names = {stage.name.casefold(): stage.name for stage in scenario.stages}
            if rest.casefold() in names:
                return one, f"{one.name} {names[rest.casefold()]}"
    known = labels(scenario)
    raise InputError(f"nothing called {plain[:60]!r} is read at this site; {nearest(plain, known)}")
