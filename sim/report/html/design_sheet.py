"""The design sheet: two to four printed pages with what a designer answers for, and lines to sign."""

from collections.abc import Sequence

from markupsafe import Markup

from sim.report.figures.trade_off import trade_off_svg
from sim.report.figures.train_boxes import train_html
from sim.report.html.template import filled
from sim.scenario.read import load
from sim.study.check.criteria import verdict
from sim.study.check.criterion import FAIL, UNKNOWN, Judged
from sim.study.check.tables import peak_frame
from sim.study.search.catalogue import equipment, invented
from sim.study.sheet.contents import SITE, inputs, items, tags, work
from sim.study.sheet.question import SheetAnswer, SheetQuestion
from sim.study.visits.service_sheet import limits
from sim.study.wording import from_to, plus_minus
from sim.units import Units

CRITERIA_HEADINGS = ("no.", "criterion", "state", "value", "limit", "margin", "rests on")


def build(question: SheetQuestion, answer: SheetAnswer, units: Units) -> str:
    """Return the sheet as HTML."""
    scenario = question.site.scenario
    currency, base = scenario.prices.currency, load.load_text('extends = "base"', "base")
    told = inputs(scenario, base, units)
    shown = answer.compared.comparison.summary(answer.policy)
    return filled(
        "design_sheet.html.j2",
        scenario=scenario,
        title=[("site", scenario.name), ("revision", question.revision), ("date", question.start.isoformat()),
               ("input digest", question.site.digest[:16]), ("units", "US" if units == "us" else "SI")],
        verdict=verdict(answer.criteria),
        flow=answer.check.design_flow,
        schematic=Markup(train_html(tags(scenario, units))),
        inputs=told,
        criteria_headings=CRITERIA_HEADINGS,
        criteria=[_row(one) for one in answer.criteria],
        peaks=peak_frame(answer.check.peaks, units).values.tolist(),
        items=items(scenario),
        invented=invented(equipment(scenario, scenario)),
        currency=currency,
        advice=answer.compared.sentences[0],
        figure=Markup(trade_off_svg(answer.compared.comparison, currency)),
        policy=answer.policy,
        cost=plus_minus(shown.cost),
        days=from_to(shown.days_below_target),
        off=from_to(shown.water_off_h),
        runs=f"{shown.runs} runs of {question.years} years",
        work=work(scenario, answer.visits.visits),
        by_reading=limits(scenario, question.site.policy(answer.policy), units),
        assumed=_assumed(told),
        changes=[*_mended(answer.criteria), *answer.compared.changes],
    )  # fmt: skip


def _row(one: Judged) -> list[str]:
    said = one.said or ("" if one.state != UNKNOWN else one.note)
    note = one.note if one.said else ""
    limit = one.wanted if one.value is not None or one.limit is not None else one.rule.formula
    source = f"{one.rule.source} [{one.rule.grade}]"
    return [
        f"{one.rule.number}",
        one.label,
        one.state,
        said,
        limit,
        one.margin,
        "; ".join(filter(None, (note, source))),
    ]


def _assumed(told: Sequence[Sequence[str]]) -> str:
    count = sum(rests != SITE for _, _, rests in told)
    return (
        f"{count} of the {len(told)} inputs above are not of this site but taken as in base.toml."
        if count
        else ""
    )


def _mended(criteria: Sequence[Judged]) -> list[str]:
    failing = [one.label for one in criteria if one.state == FAIL]
    unknown = [one.label for one in criteria if one.state == UNKNOWN]
    found = [f"These fail and are to be mended or answered for: {'; '.join(failing)}."] if failing else []
    return [*found, *([f"Known, these may turn the verdict: {'; '.join(unknown)}."] if unknown else [])]
