"""What the last readings say that stands before all else: a sample that found something, too little light."""

from collections.abc import Sequence

from sim.diary.book import Diary
from sim.diary.entries import Reading
from sim.diary.evidence import effects_of
from sim.diary.forecast import UV_PART, renewed_by
from sim.scenario.scenario import Scenario
from sim.study.caution import ON_ALARM
from sim.study.dates import spelled
from sim.study.wording import percent

LIGHT = ("UV", "UV alarm")


def alerts(scenario: Scenario, known: Diary) -> tuple[str, ...]:
    """Return what those who drink the water must know first, by the last sample and the last UV reading."""
    return tuple(filter(None, (_sample(known.readings), _light(scenario, known))))


def _sample(readings: Sequence[Reading]) -> str:
    last = _last(readings, ("sample",))
    if last is None or last.value < 1.0:
        return ""
    return (
        f"The last sample, of {spelled(last.at.date())}, found what it was tested for. Unless it was taken "
        "before the UV unit, drink no water from these taps until your laboratory or health authority says "
        "that you may; nothing below changes that."
    )


def _light(scenario: Scenario, known: Diary) -> str:
    last = _last(known.readings, LIGHT)
    if last is None:
        return ""
    if last.observed == "UV alarm":
        said = "the UV alarm was on" if last.value >= 1.0 else ""
    elif last.value < scenario.uv.alarm:
        said = f"UV read {percent(last.value)}, under the alarm at {percent(scenario.uv.alarm)}"
    else:
        said = ""
    if not said:
        return ""
    since = any(
        act.at >= last.at and renewed_by(UV_PART) & set(effects_of(scenario, act)) for act in known.acts
    )
    work = " Work on the unit is noted since then: read it again." if since else ""
    return f"On {spelled(last.at.date())} {said}. {ON_ALARM}{work}"


def _last(readings: Sequence[Reading], names: Sequence[str]) -> Reading | None:
    return next((one for one in reversed(readings) if one.observed in names), None)
