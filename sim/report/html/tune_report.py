"""The report of a search over intervals."""

from sim.report.figures.tune_figures import dial_alt, dial_figure
from sim.report.html.comparison_report import picture
from sim.report.html.search_page import Section, page
from sim.study.compare.sentences import plus_minus, three_digits
from sim.study.search.sensitivity import SPREAD
from sim.study.size.size_words import mover_lines, signed
from sim.study.tune.question import TuneAnswer, TuneQuestion
from sim.study.tune.tune import ROUND_RUNS
from sim.study.tune.tune_words import setting, tune_sentences


def build(question: TuneQuestion, answer: TuneAnswer, units: str) -> str:
    """Return the report as HTML.

    Parameters
    ----------
    units : str
        "us" or "si".
    """
    scenario, study = question.site.scenario, answer.study
    currency = scenario.prices.currency
    sections = [
        Section(
            f"Cost and risk against: {curve.dial.name}",
            picture=picture(dial_figure(curve, study, currency, units), f"dial-{number}"),
            alt=dial_alt(curve, study, currency, units),
            headings=[
                "level",
                f"cost less that of the choice, {currency} a year",
                "days below the dose target",
            ],
            rows=[
                [curve.dial.said(at, units), signed(cost), plus_minus(days, 4)]
                for at, (cost, days) in enumerate(zip(curve.cost, curve.days, strict=True))
            ],
            shows_dose=True,
        )
        for number, curve in enumerate(study.curves)
    ]
    sections.append(
        Section(
            "Where dust and films come as fast as in the upper tenth of houses",
            headings=["setting", "which is", f"cost as the house is, {currency}",
                      "days below the dose target there", "holds"],
            rows=[[line.name, setting(study, line.point, units), three_digits(line.cost.estimate),
                   plus_minus(line.days, 4), "yes" if line.holds else "no"] for line in study.hard],
            shows_dose=True,
        )
    )  # fmt: skip
    sections.append(Section("Prices that move the advice", lines=mover_lines(study.movers, currency)))
    basis = (
        f"Curves rest on {ROUND_RUNS} runs of each level. The upper tenth takes films at the spread of the "
        f"site's file and dirt off the roof at a spread of {SPREAD:g}, which is our assumption. Taking "
        "samples is not tuned: nothing in the twin follows from one."
    )
    sentences = tune_sentences(study, currency, units)
    title = f"{scenario.name}: how often, for {study.policy.name!r}?"
    return page(title, sentences, basis, sections, answer.manifest)
