"""A blank sheet for a class and the key to it, printed from one case."""

from collections.abc import Iterable
from html import escape

from sim.drill.case import Case
from sim.drill.expert import expert
from sim.drill.play import Ended, Play, played
from sim.drill.reveal import water, words
from sim.drill.score import Score, score
from sim.drill.sight import USUAL
from sim.drill.story import looks, story
from sim.study.caution import CAUTION
from sim.study.wording import number
from sim.units import Units

QUIZ = (
    "How many {unit} reach the taps below the dose target from the fault on, if nobody does anything?",
    "How many hours is the house without water then?",
    "At what percent does the display stand at its lowest at the end of a day then?",
    "On which day can the cause first be named?",
    "How many days lie between the fault and its mend by an expert?",
)
_UNITS: dict[Units, str] = {"us": "gallons", "si": "litres"}
LINES = 14  # to write on
_STYLE = (
    "body{font:11pt/1.4 system-ui,sans-serif;max-width:46rem;margin:1rem auto;padding:0 1rem}"
    "table{border-collapse:collapse;width:calc(100% - 2px)}th,td{border:1px solid #555;padding:.25rem .5rem}"
    "th,td{text-align:left}td{height:1.6rem}table.told td{height:auto}"
    "table.blank{table-layout:fixed}.blank th:first-child{width:3rem}"
    ".caution{border:2px solid #b34700;padding:.4rem .7rem}"
    "tr,li{break-inside:avoid}@page{margin:13mm}"
    "@media print{body{font-size:9pt;max-width:none;margin:0;padding:0}}"
)


def blank_sheet(case: Case, units: Units) -> bytes:
    """Return the sheet a class gets: the notes of the first day, and no word of the fault."""
    play = Play(case, units)
    notes = _list(line for seen in play.notes for line in seen.words)
    rows = "<tr><td></td><td></td><td></td><td></td></tr>" * LINES
    body = (
        f"<p>Name {'_' * 30} Date {'_' * 14}</p>"
        f"<p>Case {case.seed} at {escape(play.scenario.name)}, days {case.starts} to {case.ends}. Something "
        "changes within the first weeks. When the alarm sounds or the display is dark, nobody drinks until "
        f"it is mended and the taps are flushed.</p><h2>Noted on the day you take it over</h2>{notes}"
        f"<h2>How it works</h2>{_list(story(play.scenario, units))}"
        f"<h2>What can be looked at</h2>{_list(looks())}"
        f"<h2>What can be done</h2><p>{escape(', '.join(play.acts))}</p>"
        f"<h2>What it can be</h2><p>{escape(', '.join(sorted(play.causes)))}</p>"
        "<table class='blank'><thead><tr><th>day</th><th>seen</th><th>done</th><th>cause, %</th></tr>"
        f"</thead><tbody>{rows}</tbody></table>"
        f"<h2>Numbers of this house</h2><p>Guess before the reveal; the key has what came.</p>{_quiz(units)}"
    )
    return _page("Drill: the house on its first morning", body)


def key_sheet(case: Case, units: Units) -> bytes:
    """Return the key: what was true, and what an expert did on which day and why."""
    best: Ended = expert(case, units)
    found = score(best, best)
    told = _list(words(best, best, found, units)[1:])
    lines = [(day, said) for day, said in best.log.said if said != USUAL]
    days = {day: [said for at, said in lines if at == day] for day, _ in lines}
    told_of = {day: "; ".join(line.rstrip(".") for line in said) for day, said in days.items()}
    rows = "".join(f"<tr><td>{day}</td><td>{escape(said)}</td></tr>" for day, said in told_of.items())
    came = _quiz(units, answers(case, best, found, units))
    return _page(
        "Drill: the key",
        f"{told}<h2>Numbers of this house</h2>{came}<h2>The expert's run</h2>"
        f'<table class="told"><thead><tr><th>day</th><th>what was seen or done</th></tr></thead>'
        f"<tbody>{rows}</tbody></table>",
    )


def answers(case: Case, best: Ended, found: Score, units: Units) -> tuple[str, ...]:
    """Return what came of the questions of the quiz, from a run of this case in which nobody acts."""
    idle = played(case.model_copy(update={"moves": ()}))
    since, mended = case.staged[0].day, best.mended_day
    return (
        water(float(idle.below_m3[since:].sum()), units),
        f"{number(float(idle.off_h[since:].sum()))} h",
        f"{100.0 * float(idle.reading[since:].min()):.0f} %",
        "never by the expert" if found.known_day is None else f"day {found.known_day}",
        "never mended" if mended is None else f"{mended - since}",
    )


def quiz(units: Units) -> list[str]:
    """Return what is asked of the numbers of a run."""
    return [one.format(unit=_UNITS[units]) for one in QUIZ]


def _quiz(units: Units, came: Iterable[str] = ()) -> str:
    lines = list(came) or ["_" * 12] * len(QUIZ)
    asked = (
        f"<li>{escape(one)} <strong>{line}</strong></li>"
        for one, line in zip(quiz(units), lines, strict=True)
    )
    return f"<ol>{''.join(asked)}</ol>"


def _list(lines: Iterable[str]) -> str:
    return f"<ul>{''.join(f'<li>{escape(line)}</li>' for line in lines)}</ul>"


def _page(title: str, body: str) -> bytes:
    return (
        f'<!doctype html><html lang="en"><head><meta charset="utf-8"><title>{title}</title>'
        f"<style>{_STYLE}</style></head><body><h1>{title}</h1>"
        f'<p class="caution" role="note">{escape(CAUTION)}</p>{body}</body></html>\n'
    ).encode()
