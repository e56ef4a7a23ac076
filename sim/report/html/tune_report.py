"""The report of a search over intervals."""

from sim.report.figures.tune_figures import dial_alt, dial_figure
from sim.report.html.comparison_report import picture
from sim.report.html.search_page import Section, page
from sim.study.search.sensitivity import SPREAD
from sim.study.size.size_words import mover_lines
from sim.study.tune.curves import ROUND_RUNS
from sim.study.tune.question import TuneAnswer, TuneQuestion
from sim.study.tune.tune_words import HARD_HOUSE, setting, tune_sentences
from sim.study.wording import capital, difference, given, mean_seen, money, named, number
from sim.units import Units


def build(question: TuneQuestion, answer: TuneAnswer, units: Units) -> str:
    """Return the report as HTML."""
    scenario, study = question.site.scenario, answer.study
    currency = scenario.prices.currency
    sections = [
        Section(
            f"Cost and risk against: {curve.dial.name}",
            picture=picture(dial_figure(curve, study, currency, units), f"dial-{number}"),
            alt=dial_alt(curve, study, currency, units),
            headings=[
                "level",
                "cost beside the choice",
                "days below the dose target",
            ],
            rows=[
                [curve.dial.said(at, units), difference(cost, money(currency)), mean_seen(days)]
                for at, (cost, days) in enumerate(zip(curve.cost, curve.days, strict=True))
            ],
            shows_dose=True,
        )
        for number, curve in enumerate(study.curves)
    ]
    sections.append(
        Section(
            capital(HARD_HOUSE),
            headings=["setting", "which is", f"cost as the house is, {currency}",
                      "days below the dose target there", "holds"],
            rows=[[line.name, setting(study, line.point, units), number(line.cost.estimate),
                   mean_seen(line.days), "yes" if line.holds else "no"] for line in study.hard],
            shows_dose=True,
        )
    )  # fmt: skip
    sections.append(Section("Prices that move the advice", lines=mover_lines(study.movers, currency)))
    basis = (
        f"Curves rest on {ROUND_RUNS} runs of each level. The house that fouls faster than nine in ten takes "
        f"films at the spread of the site's file and dirt off the roof at a spread of {given(SPREAD)}, which "
        "is our assumption. The interval of samples is not tuned."
    )
    sentences = tune_sentences(study, currency, units)
    kept = [section for section in sections if section.lines or section.rows]
    title = f"{scenario.name}: how often, for {named(study.policy.name)}?"
    return page(title, sentences, basis, kept, answer.manifest)
