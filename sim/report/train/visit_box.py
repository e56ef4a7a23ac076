"""The next visit as HTML: its day, its tasks with their minutes, what is bought, its cautions first."""

from html import escape

from sim.scenario.scenario import Scenario
from sim.study.caution import AT_WORK
from sim.study.dates import brief
from sim.study.today.question import TodayAnswer
from sim.study.wording import capital

BOX_CSS = """
ol.tasks {list-style: none; counter-reset: task; margin: 8px 0 14px !important; padding: 0 !important;}
.tasks li {counter-increment: task; display: flex; justify-content: space-between; gap: 12px; margin: 0;
  border-top: 1px solid var(--rule); padding: 7px 0;}
.tasks li span:first-child::before {content: counter(task); display: inline-block; width: 22px;
  color: var(--soft);}
.tasks .min {white-space: nowrap; color: var(--soft);}
.facts {display: flex; flex-wrap: wrap; gap: 0 24px; margin: 2px 0 8px;}
.danger {border-left: 4px solid var(--act); background: var(--act-t); color: var(--ink); padding: 8px 12px;
  border-radius: 0 6px 6px 0; font-size: 15px; line-height: 21px; margin: 8px 0;}
.dots {display: flex; flex-wrap: wrap; gap: 5px; margin: 8px 0;}
.dots i {width: 14px; height: 14px; border-radius: 50%; border: 1.8px solid var(--line);}
.dots .hit {background: var(--fine); border-color: var(--fine);}
.dots .miss {border-color: var(--ink);
  background: linear-gradient(45deg, transparent 44%, var(--ink) 44% 56%, transparent 56%);}
"""
DANGER = (
    "Shut, relieve and prove zero before anything is opened; unplug the UV unit before its housing is. "
    "A lit lamp burns eyes and skin, felt hours later."
)


def visit_html(scenario: Scenario, answer: TodayAnswer) -> str:
    """Return the next visit, empty where nothing falls due."""
    visit = answer.visit
    if visit is None:
        return ""
    items = []
    for label in visit.tasks:
        task = scenario.task(label.partition(": ")[0])
        time = "" if task is None else f"{task.minutes:.0f} min alone"
        items.append(f'<li><span>{escape(capital(label))}</span><span class="min">{time}</span></li>')
    buy = f"<span>buy <b>{escape(', '.join(visit.buy))}</b></span>" if visit.buy else ""
    tasks = (scenario.task(label.partition(": ")[0]) for label in visit.tasks)
    opens = any(task is not None and (task.shuts_water or task.unplugs_uv) for task in tasks)
    danger = f'<p class="danger" role="note">{DANGER if opens else AT_WORK}</p>'
    on = visit.on if visit.on > answer.as_of else answer.as_of
    when = "Today" if on == answer.as_of else f"{on:%A}, {brief(on, answer.as_of)}"
    return (
        f"<p><b>{when}</b></p>"
        f'<p class="facts"><span>work <b>{visit.minutes:.0f} min</b></span>{buy}</p>{danger}'
        f'<ol class="tasks">{"".join(items)}</ol>'
    )
