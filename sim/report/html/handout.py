"""The handout of a skip: two printed pages on what happened, what could have been seen, what it cost."""

from sim.outcome.signs import NOBODY
from sim.report.figures.skip_figure import skip_alt, skip_figure
from sim.report.html.comparison_report import picture
from sim.report.html.template import filled
from sim.study.skip.question import SkipAnswer, SkipQuestion
from sim.study.skip.skip_words import what_is_skipped
from sim.study.skip.story import Month, Story, sentence
from sim.units import text


def build(question: SkipQuestion, answer: SkipAnswer, units: str) -> str:
    """Return the handout as HTML.

    Parameters
    ----------
    units : str
        "us" or "si".
    """
    scenario, story = question.site.scenario, answer.story
    days = (answer.kept, answer.skipped)
    return filled(
        "handout.html.j2",
        site=scenario.name,
        what=what_is_skipped(question.left, scenario.start),
        answer=answer.sentence,
        summary=story.summary,
        seen=[
            (sign.seen_on, sentence(sign, scenario.start, units))
            for sign in story.signs
            if sign.seen_on != NOBODY
        ],
        months=_months(story, units),
        alt=skip_alt(*days, story),
        figure=picture(skip_figure(*days, story, scenario.uv.alarm, units), "skip"),
    )


def _months(story: Story, units: str) -> list[list[str]]:
    """Return the months as rows of text: one each where something showed first, one for each stretch."""
    rows: list[list[str]] = []
    stretch: list[Month] = []
    for month in story.months:
        if month.lines:
            rows += [_row(stretch, "As before.", units)] if stretch else []
            rows.append(_row([month], " ".join(month.lines), units))
            stretch = []
        elif not month.quiet or stretch:
            stretch.append(month)
    return rows + ([_row(stretch, "As before.", units)] if stretch else [])


def _row(months: list[Month], said: str, units: str) -> list[str]:
    first, last = months[0], months[-1]
    span = f"{first.first:%b %Y}" + (f" to {last.first:%b %Y}" if len(months) > 1 else "")
    return [
        span,
        said,
        *(f"{100 * reading:.0f}" for reading in last.reading),
        *(text(max(month.drop_pa[at] for month in months), "pressure", units) for at in (0, 1)),
        *(str(sum(month.below[at] for month in months)) for at in (0, 1)),
    ]
