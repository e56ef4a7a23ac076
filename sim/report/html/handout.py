"""The handout of a skip: two printed pages on what happened, what could have been seen, what it cost."""

from sim.outcome.signs import NOBODY
from sim.report.figures.skip_figure import skip_alt, skip_figure
from sim.report.html.comparison_report import picture
from sim.report.html.template import filled
from sim.study.skip.months import Month, standing
from sim.study.skip.question import SkipAnswer, SkipQuestion
from sim.study.skip.sign_words import seen
from sim.study.skip.skip_words import what_is_skipped
from sim.study.skip.story import Story
from sim.study.wording import capital
from sim.units import Units

AS_IT_WOULD = "As it would have been."


def build(question: SkipQuestion, answer: SkipAnswer, units: Units) -> str:
    """Return the handout as HTML."""
    scenario, story = question.site.scenario, answer.story
    days = (answer.kept, answer.skipped)
    return filled(
        "handout.html.j2",
        site=scenario.name,
        what=what_is_skipped(question.left, scenario.start),
        answer=answer.sentence,
        summary=story.summary,
        seen=[
            (sign.seen_on, seen(sign, scenario.start, units))
            for sign in story.signs
            if sign.seen_on != NOBODY
        ],
        months=_months(story),
        alt=skip_alt(*days, story),
        figure=picture(skip_figure(*days, story, scenario.uv.alarm, units), "skip"),
    )


def _months(story: Story) -> list[list[str]]:
    """Return the months as rows of text: one each where something showed first, one for each stretch."""
    rows: list[list[str]] = []
    stretch: list[Month] = []
    for month in story.months:
        if stretch and (month.lines or bool(stretch[0].stands) != bool(month.stands)):
            rows.append(_row(stretch))
            stretch = []
        if month.lines:
            rows.append(_row([month]))
        else:
            stretch.append(month)
    return rows + ([_row(stretch)] if stretch else [])


def _row(months: list[Month]) -> list[str]:
    first, last = months[0], months[-1]
    stands = standing(months)
    span = f"{first.first:%b %Y}" + (f" to {last.first:%b %Y}" if len(months) > 1 else "")
    return [
        span,
        " ".join([*first.lines, f"{capital(stands)}." if stands else "" if first.lines else AS_IT_WOULD]),
    ]
