"""What to check first as HTML: a line an act, with its chance, what it takes and what it would tell."""

from html import escape

from sim.study.check_first.question import Act, CheckFirstAnswer
from sim.study.check_first.words import takes
from sim.study.wording import capital, percent

CHECKS_CSS = """
ol.checks {list-style: none; margin: 8px 0 12px !important; padding: 0 !important;}
ol.checks > li {display: grid; grid-template-columns: 22px minmax(190px, 5fr) 150px 130px minmax(220px, 8fr);
  column-gap: 18px; border-top: 1px solid var(--rule); padding: 10px 0; margin: 0;}
.checks .place {color: var(--soft);} .checks .tells {font-size: 14px; line-height: 20px; padding-top: 2px;}
.checks .chance {white-space: nowrap;}
.checks .chance i {display: inline-block; width: 72px; height: 10px; border: 1px solid var(--line);
  border-radius: 3px; margin-right: 8px;
  background: linear-gradient(var(--line), var(--line)) no-repeat 0 0 / var(--share) 100%;}
@media (max-width: 819px) {
  ol.checks > li {grid-template-columns: 22px 1fr 1fr; row-gap: 3px; column-gap: 8px;}
  .checks .do, .checks .tells {grid-column: 2 / -1;} .checks .chance {grid-column: 2;}
}
"""


def checks_html(answer: CheckFirstAnswer, currency: str) -> str:
    """Return the caution, the acts in order and where to stop."""
    items = "".join(_item(place, act, currency) for place, act in enumerate(answer.acts, 1))
    return (
        f'<p class="danger" role="note">{escape(answer.caution)}</p>'
        f'<ol class="checks">{items}</ol><p><b>{escape(answer.stop)}</b></p>'
    )


def _item(place: int, act: Act, currency: str) -> str:
    share = percent(act.share) if act.share > 0.0 else ""
    mark = f'<i style="--share:{100 * act.share:.0f}%" aria-hidden="true"></i>' if share else ""
    return (
        f'<li><span class="place">{place}</span><b class="do">{escape(capital(act.do))}</b>'
        f'<span class="chance">{mark}{share}</span><span>{escape(takes(act, currency))}</span>'
        f'<span class="tells">{escape(act.tells)}</span></li>'
    )
