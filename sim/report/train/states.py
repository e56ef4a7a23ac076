"""What the picture shows of a house that was asked how it stands today."""

from datetime import date

from sim.diary.book import Diary
from sim.diary.entries import Reading
from sim.diary.properties import DROP, FILL
from sim.report.train.picture import Shown, States
from sim.scenario.scenario import Scenario
from sim.study.dates import brief
from sim.study.today.parts import PartToday, tasks_with
from sim.study.today.question import TodayAnswer
from sim.study.wording import capital, percent
from sim.units import Units, text

PLAN_DAYS = 60  # what falls due so soon is to be planned [A]


def state_of(part: PartToday, today: date, begun: bool = True) -> str:
    """Return whether a part is fine, to be planned for or to be seen to now; "none" where nothing tells.

    Of a house of which nothing was read or noted, nothing is to be seen to now.
    """
    if part.when is None or not part.tasks:
        return "none"
    if part.due is None:
        return "fine"
    days = (part.due - today).days
    if days <= 0:
        return "act" if begun else "none"
    return "plan" if days <= PLAN_DAYS else "fine"


def due_words(part: PartToday, today: date, begun: bool = True) -> str:
    """Return what to do by when in a few words."""
    if not part.fits:
        return "readings do not fit"
    if part.when is None or not part.tasks:
        return ""
    if part.due is None:
        return "fine: over two years"
    state = state_of(part, today, begun)
    if state == "none":
        return "not known yet"
    return {"act": "act now", "plan": f"plan: by {brief(part.due, today)}"}.get(
        state, f"fine: till {brief(part.due, today)}"
    )


def left_of(scenario: Scenario, part: PartToday) -> tuple[float, float, float] | None:
    """Return the share that is left before one must act, low, middle and high."""
    low, middle, high = part.state.low, part.state.middle, part.state.high
    if part.measure == "used":
        return 1.0 - high, 1.0 - middle, 1.0 - low
    if part.measure == "reading":
        alarm = scenario.uv.alarm
        return tuple((x - alarm) / (1.0 - alarm) for x in (low, middle, high))
    if part.measure == "pressure":
        start_pa = scenario.tank.precharge_pa
        limit_pa = max((r.precharge_off_pa or 0.0 for p in scenario.policies for r in p.rules), default=0.0)
        return tuple(1.0 - (start_pa - x) / (limit_pa or 13790.0) for x in (low, middle, high))
    return (low, middle, high) if part.measure == "full" else None


def states(scenario: Scenario, diary: Diary, answer: TodayAnswer, units: Units) -> States:
    """Return what the picture shows."""
    today = answer.as_of
    known = diary.until(today)
    by_name = {part.name: part for part in answer.parts}

    def shown(part: PartToday, name: str, note: str, word: str = "left") -> Shown:
        return Shown(
            name,
            note,
            left_of(scenario, part),
            state_of(part, today, answer.begun),
            due_words(part, today, answer.begun),
            word,
        )

    tank = by_name["precharge"]
    stages = tuple(
        shown(by_name[stage.name], capital(stage.name),
              _last(known, f"{DROP} {stage.name}", "drop", today, units))
        for stage in scenario.stages
    )  # fmt: skip
    light = _newest(known, "UV")
    return States(
        Shown("Roof, first flush", _cleared(scenario, known, today)),
        shown(by_name["cistern"], "Cistern", _level(known, today), "full"),
        Shown("Pump", "readings do not tell its day"),
        shown(tank, "Pressure tank", f"air charge {text(tank.state.middle, 'pressure', units)}"),
        stages,
        shown(by_name["UV"], "UV unit", _light(scenario, light, today)),
        Shown("Taps", _filling(known, today)),
        percent(light.value) if light else "",
    )


def _newest(known: Diary, begins: str) -> Reading | None:
    found = [one for one in known.readings if one.observed == begins or one.observed.startswith(f"{begins} ")]
    found = [one for one in found if begins != "UV" or one.observed == "UV"]
    return found[-1] if found else None


def _last(known: Diary, observed: str, word: str, today: date, units: Units) -> str:
    one = _newest(known, observed)
    if one is None:
        return f"no {word} read"
    return f"{word} {text(one.value, 'pressure', units)} on {brief(one.at.date(), today)}"


def _light(scenario: Scenario, one: Reading | None, today: date) -> str:
    alarm = percent(scenario.uv.alarm)
    if one is None:
        return f"no UV read; alarm at {alarm}"
    return f"read {percent(one.value)} on {brief(one.at.date(), today)}; alarm at {alarm}"


def _level(known: Diary, today: date) -> str:
    one = _newest(known, "cistern")
    return f"level read {brief(one.at.date(), today)}" if one else "no level read"


def _filling(known: Diary, today: date) -> str:
    one = _newest(known, FILL)
    return f"10 L in {one.value:.0f} s on {brief(one.at.date(), today)}" if one else "no bucket test yet"


def _cleared(scenario: Scenario, known: Diary, today: date) -> str:
    names = tasks_with(scenario, ("cleared gutters",), "")
    found = [act.at.date() for act in known.acts if act.label in names]
    return f"gutters cleared {brief(max(found), today)}" if found else "no clearing noted"
