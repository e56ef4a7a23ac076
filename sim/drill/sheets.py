"""A blank sheet for a class and the key to it, printed from one case."""

from collections.abc import Iterable
from html import escape

from sim.drill.case import Case
from sim.drill.expert import expert
from sim.drill.play import Ended, Play
from sim.drill.reveal import words
from sim.drill.score import score
from sim.drill.sight import CHECKS
from sim.study.caution import CAUTION
from sim.units import Units

LINES = 14  # to write on
_STYLE = (
    "body{font:11pt/1.4 system-ui,sans-serif;max-width:46rem;margin:1rem auto;padding:0 1rem}"
    "table{border-collapse:collapse;width:100%}th,td{border:1px solid #555;padding:.25rem .5rem}"
    "th,td{text-align:left}td{height:1.6rem}.caution{border:2px solid #b34700;padding:.4rem .7rem}"
)


def blank_sheet(case: Case, units: Units) -> bytes:
    """Return the sheet a class gets: the notes of the first day, and no word of the fault."""
    play = Play(case, units)
    notes = _list(line for seen in play.notes for line in seen.words)
    rows = "<tr><td></td><td></td><td></td><td></td></tr>" * LINES
    body = (
        f"<p>Days {case.starts} to {case.ends} of seed {case.seed} at {escape(play.scenario.name)}. "
        f"Something may change within the first weeks.</p><h2>Notes of those who had the house</h2>{notes}"
        f"<h2>What can be looked at</h2><p>{escape(', '.join(CHECKS))}</p>"
        f"<h2>What can be done</h2><p>{escape(', '.join(play.acts))}</p>"
        f"<h2>What it can be</h2><p>{escape(', '.join(sorted(play.causes)))}</p>"
        "<table><thead><tr><th>day</th><th>seen</th><th>done</th><th>cause believed, with %</th></tr></thead>"
        f"<tbody>{rows}</tbody></table>"
    )
    return _page("Drill: the house on its first morning", body)


def key_sheet(case: Case) -> bytes:
    """Return the key: what was true, and what an expert did on which day and why."""
    best: Ended = expert(case)
    told = _list(words(best, best, score(best, best)))
    rows = "".join(f"<tr><td>{day}</td><td>{escape(said)}</td></tr>" for day, said in best.log.said)
    return _page(
        "Drill: the key",
        f"{told}<h2>The expert's run</h2><table><thead><tr><th>day</th><th>what was seen or done</th></tr>"
        f"</thead><tbody>{rows}</tbody></table>",
    )


def _list(lines: Iterable[str]) -> str:
    return f"<ul>{''.join(f'<li>{escape(line)}</li>' for line in lines)}</ul>"


def _page(title: str, body: str) -> bytes:
    return (
        f'<!doctype html><html lang="en"><head><meta charset="utf-8"><title>{title}</title>'
        f"<style>{_STYLE}</style></head><body><h1>{title}</h1>"
        f'<p class="caution" role="note">{escape(CAUTION)}</p>{body}</body></html>\n'
    ).encode()
