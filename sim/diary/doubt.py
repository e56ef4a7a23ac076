"""Readings that look odd: asked about, never dropped."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from sim.constants import DAY_S
from sim.diary.entries import Reading
from sim.diary.parts.likelihood import KPA_PER_PSI
from sim.scenario.scenario import Scenario
from sim.units import HOUR_S, PSI_PA, text

BACKWARDS_PA = -1.0 * PSI_PA  # no water runs uphill: a drop below it was read the wrong way round
STEEP_DROP_PA = 25.0 * PSI_PA  # more than a train in use shows [A]
BRIGHTEST = 1.15  # of new and clean
LEAST_SHARE = 0.02  # of light or of a full cistern: below it a hundredth may have been read for the whole
PRESSURE, REST = "pressure at ", "pressure at rest"
NEAR_PA = 2.0 * PSI_PA  # as gauges read
MOST_A_DAY_M3 = 10.0  # a household's use [A]
FASTEST_S, SLOWEST_S = 8.0, 300.0  # to fill 10 L: 20 gpm to half a gallon a minute


@dataclass(frozen=True)
class Doubt:
    """One question about one reading.

    Attributes
    ----------
    reading : Reading
        As it was entered.
    question : str
        One sentence that ends in a question mark.
    """

    reading: Reading
    question: str


def doubts(readings: Sequence[Reading], scenario: Scenario) -> tuple[Doubt, ...]:
    """Return a question for each reading that looks odd beside the house and the readings before it."""
    found = []
    before: dict[str, Reading] = {}
    for reading in readings:
        question = "" if reading.sure else _question(reading, before.get(reading.observed), scenario)
        if question:
            found.append(Doubt(reading, question))
        # A cartridge that stays clogged, or a pump that fails, shows many like the one that was asked about:
        # one question will do.
        if not question or reading.stage or reading.observed.startswith(PRESSURE):
            before[reading.observed] = reading
    return tuple(found)


def _question(reading: Reading, before: Reading | None, scenario: Scenario) -> str:
    checks: dict[str, Callable[[], str]] = {
        "drop": lambda: _drop(reading, before, scenario),
        "pressure": lambda: _gauge(reading, scenario) or _switched(reading, before, scenario),
        "precharge": lambda: _gauge(reading, scenario),
        "UV": lambda: _light(reading, before) if reading.observed == "UV" else "",
        "meter": lambda: _meter(reading, before),
        "cistern": lambda: _stored(reading, before, scenario),
        "seconds": lambda: _filling(reading),
        "lamp": lambda: _lamp_hours(reading, before),
    }
    return checks.get(reading.observed.partition(" ")[0], lambda: "")()


def _psi(value_pa: float) -> str:
    return text(value_pa, "pressure", "us")


def _drop(reading: Reading, before: Reading | None, scenario: Scenario) -> str:
    if reading.value < BACKWARDS_PA:
        return (
            f"a drop of {_psi(reading.value)}: were the two gauges read the wrong way round, "
            f"so that you mean {_psi(-reading.value)}?"
        )
    # What is nearer to the reading before as it stands than in kPa, on a scale of ratios, is no surprise.
    rising = before is not None and reading.value < before.value * KPA_PER_PSI**0.5
    if rising or reading.value <= min(STEEP_DROP_PA, scenario.switch.cut_in_pa):
        return ""
    kpa = f"{reading.value / PSI_PA:.3g}"
    return f"a drop of {_psi(reading.value)}: did you mean {kpa} kPa ({_psi(reading.value / KPA_PER_PSI)})?"


def _gauge(reading: Reading, scenario: Scenario) -> str:
    most_pa = 1.5 * scenario.switch.cut_out_pa
    shown = f"{reading.value / PSI_PA:.3g}"
    if reading.value > most_pa:
        return (
            f"{reading.observed} {_psi(reading.value)}: did you mean {shown} kPa "
            f"({_psi(reading.value / KPA_PER_PSI)})?"
        )
    if 0.0 < reading.value * KPA_PER_PSI < most_pa and reading.value < 0.2 * scenario.switch.cut_in_pa:
        return (
            f"{reading.observed} {_psi(reading.value)}: did you mean another unit, or does the gauge stick?"
        )
    return ""


def _switched(reading: Reading, before: Reading | None, scenario: Scenario) -> str:
    """Ask, the first time, where a pressure of the switch is at or beyond the one at its other end."""
    switch, cut_in = scenario.switch, reading.observed == "pressure at cut-in"
    other, other_pa = ("cut-out", switch.cut_out_pa) if cut_in else ("cut-in", switch.cut_in_pa)

    def beyond(value_pa: float) -> bool:
        return bool(value_pa >= other_pa - NEAR_PA if cut_in else value_pa <= other_pa + NEAR_PA)

    if reading.observed == REST or not beyond(reading.value) or (before is not None and beyond(before.value)):
        return ""
    here = f"{reading.observed.removeprefix(PRESSURE)} {_psi(reading.value)}"
    return f"{here}, where {other} is {_psi(other_pa)}: was it read at {other}?"


def _light(reading: Reading, before: Reading | None) -> str:
    if reading.value > BRIGHTEST:
        return f"UV {100 * reading.value:.0f} %: is 100 % of this monitor a new and clean unit?"
    return _hundredth("UV", reading, before)


def _hundredth(name: str, reading: Reading, before: Reading | None) -> str:
    """Ask where a share looks like one that was typed as a fraction of one, and did not sink there."""
    sinking = before is not None and before.value < 10.0 * LEAST_SHARE
    if 0.0 < reading.value < LEAST_SHARE and not sinking:
        return f"{name} {100 * reading.value:.2g} %: did you mean {1e4 * reading.value:.0f} %?"
    return ""


def _meter(reading: Reading, before: Reading | None) -> str:
    if before is None:
        return ""
    if reading.value < before.value:
        return "the meter reads less than before: was it changed, or did it start anew at zero?"
    days = max((reading.at - before.at).total_seconds() / DAY_S, 1.0)
    daily_m3 = (reading.value - before.value) / days
    return (
        f"{daily_m3:.1f} m3 a day since the last reading: is that right?" if daily_m3 > MOST_A_DAY_M3 else ""
    )


def _stored(reading: Reading, before: Reading | None, scenario: Scenario) -> str:
    if reading.observed == "cistern share":
        return _hundredth(reading.observed, reading, before)
    return _level(reading, before, scenario)


def _level(reading: Reading, before: Reading | None, scenario: Scenario) -> str:
    store = scenario.cistern
    depth_m = store.capacity_m3 / store.floor_m2
    if reading.value > 1.05 * depth_m:
        return f"{reading.value:.2f} m of water in a cistern {depth_m:.2f} m deep: which unit was meant?"
    emptying = before is not None and before.value < 2.0 * store.intake_m
    if 0.0 < reading.value < store.intake_m and not emptying:
        return f"{1e3 * reading.value:.0f} mm of water, which is below the intake: which unit was meant?"
    return ""


def _filling(reading: Reading) -> str:
    if FASTEST_S <= reading.value <= SLOWEST_S:
        return ""
    return f"{reading.value:g} s to fill 10 L: is that right?"


def _lamp_hours(reading: Reading, before: Reading | None) -> str:
    if before is None:
        return ""
    passed_h = (reading.at - before.at).total_seconds() / HOUR_S
    more_h = (reading.value - before.value) / HOUR_S
    if more_h > 1.05 * passed_h + 24.0:
        return f"{more_h:.0f} lamp hours more after {passed_h:.0f} hours: is that right?"
    return ""
