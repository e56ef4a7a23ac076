"""A line a part as HTML: state, what to do, when as a strip, how sure."""

from collections.abc import Sequence
from datetime import date, timedelta
from html import escape

from sim.report.train.states import state_of
from sim.study.dates import brief
from sim.study.today.parts import PartToday
from sim.study.today.question import TodayAnswer
from sim.study.today.words import dose_words, odds, state_words
from sim.study.wording import capital, listed
from sim.units import Units

AXIS_DAYS = 365
WORDS = {"fine": "Fine", "plan": "Plan", "act": "Act now", "none": ""}
LINES_CSS = """
ol.lines {list-style: none; margin: 0 !important; padding: 0 !important;}
.lines > li, .lines-head {display: grid; column-gap: 22px; padding: 12px 0;
  grid-template-columns: minmax(200px, 5fr) minmax(110px, 3fr) minmax(160px, 5fr) minmax(180px, 5fr);}
.lines > li {border-top: 1px solid var(--rule); margin: 0;}
.lines-head {padding: 0 0 6px; align-items: end;}
.lines-head, .lines .small {font-size: 14px; line-height: 20px; color: var(--soft);}
.lines .what {display: flex; gap: 8px;}
.sign {flex: none; width: 12px; height: 12px; margin: 6px 2px 0; border-radius: 50%;
  border: 2.4px solid var(--fine);}
.sign.plan {border: 1.6px solid var(--ink);
  background: linear-gradient(90deg, transparent 50%, var(--plan) 50%);}
.sign.act {border: 0; border-radius: 0; background: var(--act); clip-path: polygon(50% 0, 100% 100%, 0 100%);}
.sign.none {border: 0; border-radius: 0; height: 2px; margin-top: 11px; background: var(--line);}
.lines b, .lines .small, .lines .when > span {display: block;} .lines .when b {display: inline;}
.axis {position: relative; height: 20px;}
.axis span {position: absolute; transform: translateX(-50%); white-space: nowrap;}
.strip {position: relative; display: block; height: 14px; margin: 6px 0;
  border-bottom: 1.5px solid var(--line);}
.strip i {position: absolute;}
.strip .band {top: 4px; bottom: 0; border: 1px solid var(--line); border-bottom: 0;
  background: repeating-linear-gradient(135deg, var(--line) 0 1.4px, transparent 1.4px 5px);}
.strip .mid {top: 1px; bottom: -3px; width: 2.4px; margin-left: -1.2px; background: var(--ink);}
.strip .by {top: -2px; width: 12px; height: 11px; margin-left: -6px; background: var(--ink);
  clip-path: polygon(0 0, 100% 0, 50% 100%);}
.strip .on {right: -3px; top: 1px; width: 10px; height: 11px; background: var(--line);
  clip-path: polygon(0 0, 100% 50%, 0 100%);}
@media (max-width: 819px) {
  .lines-head > span {display: none;} .lines-head {display: block; padding-left: 24px;}
  .lines > li {grid-template-columns: 1fr; row-gap: 4px;}
  .lines .do {font-weight: 600;}
  .lines .do, .lines .strip, .lines .when {margin-left: 24px;}
}
"""


def lines_html(answer: TodayAnswer, units: Units) -> str:
    """Return a line for each part that is read or seen to, the soonest first."""
    today = answer.as_of
    shown = [part for part in answer.parts if part.tasks or not part.fits or part.measure == "full"]
    shown.sort(key=lambda part: (part.due is None, part.due or date.max))
    head = (
        '<div class="lines-head" aria-hidden="true"><span>Part and state</span><span>Do</span>'
        f'<div class="axis">{_ticks(today)}</div><span>By when, how sure</span></div>'
    )
    items = "".join(_item(part, today, units, answer.begun) for part in shown)
    return f'{head}<ol class="lines">{items}</ol>'


def _item(part: PartToday, today: date, units: Units, begun: bool) -> str:
    state = state_of(part, today, begun)
    word = WORDS[state]
    heard = f'role="img" aria-label="{word}"' if word else 'aria-hidden="true"'
    sign = f'<i class="sign {state}" {heard}></i>'
    what = [f'<span class="small">{escape(state_words(part, units))}</span>']
    what += [f'<span class="small">{escape(words)}</span>' for words in dose_words(part, units)]
    name = f"<b>{escape(capital(part.name))}</b>"
    return (
        f'<li><div class="what">{sign}<div>{name}{"".join(what)}</div></div>'
        f'<div class="do">{escape(_doing(part))}</div>{_strip(part, today)}'
        f'<div class="when">{_when(part, today, begun)}</div></li>'
    )


def _doing(part: PartToday) -> str:
    if not part.tasks:
        return "Read it"
    tasks = [task.partition(":")[0] for task in part.tasks]
    return capital(listed(list(dict.fromkeys(tasks))))


def _when(part: PartToday, today: date, begun: bool) -> str:
    if not part.fits:
        return "<span>no date</span><span class='small'>its readings do not fit this model</span>"
    if part.when is None:
        return "<span>no date</span>"
    basis = odds(part.when, today) if begun and part.readings else "no reading: any house like it"
    if part.when.by is None:
        return f'<span>more than two years ahead</span><span class="small">{basis}</span>'
    now = "now" if begun else "not known yet"
    by = now if part.when.by <= today else f"by <b>{brief(part.when.by, today)}</b>"
    likely = brief(part.when.likely, today) if part.when.likely else "after two years"
    coming = "" if part.when.likely is not None and part.when.likely <= today else f"; likely {likely}"
    return f'<span>{by}{coming}</span><span class="small">{basis}</span>'


def _ticks(today: date) -> str:
    found = []
    for months in range(2, 12, 3):
        month = today.month - 1 + months
        on = date(today.year + month // 12, month % 12 + 1, 1)
        found.append(f'<span style="left:{_place(on, today):.2f}%">{on:%b}</span>')
    return "".join(found)


def _place(on: date | None, today: date) -> float:
    days = AXIS_DAYS if on is None else min(max((on - today).days, 0), AXIS_DAYS)
    return 100.0 * days / AXIS_DAYS


def _strip(part: PartToday, today: date) -> str:
    """Return the dates of a part as a strip over the coming year; an arrow where they lie beyond it."""
    when = part.when
    if when is None or when.by is None:
        beyond = '<i class="on"></i>' if when is not None else ""
        return f'<span class="strip" aria-hidden="true">{beyond}</span>'
    first, last, likely = (_place(on, today) for on in (when.first, when.last, when.likely))
    end = today + timedelta(days=AXIS_DAYS)
    inside = when.likely is not None and when.likely <= end
    found = [f'<i class="band" style="left:{first:.2f}%;width:{max(last - first, 0.4):.2f}%"></i>']
    found += [f'<i class="mid" style="left:{likely:.2f}%"></i>'] if inside else []
    found += ['<i class="on"></i>'] if when.last is None or when.last > end else []
    found += [f'<i class="by" style="left:{_place(when.by, today):.2f}%"></i>'] if when.by <= end else []
    return f'<span class="strip" aria-hidden="true">{"".join(found)}</span>'


def dots(hits: Sequence[bool]) -> str:
    """Return forecasts that came due as dots, struck through where they missed their range."""
    if not hits:
        return ""
    words = f"{sum(hits)} of {len(hits)} forecasts fell in their 80 % range"
    marks = "".join(f'<i class="{"hit" if hit else "miss"}"></i>' for hit in hits)
    return f'<p class="dots" role="img" aria-label="{words}">{marks}</p>'
