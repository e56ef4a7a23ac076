"""The report of a search over sizes."""

from collections.abc import Sequence

from sim.report.figures.size_figures import sizes_front, sizes_front_alt
from sim.report.html.comparison_report import picture
from sim.report.html.search_page import Section, page
from sim.study.check.criteria import judged
from sim.study.check.tables import CRITERIA_HEADINGS, criteria_rows
from sim.study.search.catalogue import Piece, invented
from sim.study.size.question import SizeAnswer, SizeQuestion
from sim.study.size.size_words import mover_lines, step_lines
from sim.study.size.sizes import SizeStudy
from sim.study.wording import given, number
from sim.units import SHOWN, Units, text

QUOTED_HEADINGS = ("item", "for", "price", "quoted on", "not known of it")


def build(question: SizeQuestion, answer: SizeAnswer, units: Units) -> str:
    """Return the report as HTML."""
    scenario, study = question.site.scenario, answer.study
    currency = scenario.prices.currency
    sections = [
        Section("What each step up buys, all else as chosen",
                lines=step_lines(study, currency, units)),
        Section("What moves the difference between the choice and the next",
                lines=mover_lines(study.movers, currency)),
        Section(
            "Cost against days below the dose target",
            picture=picture(sizes_front(study, currency), "front"),
            alt=sizes_front_alt(study, currency), shows_dose=True,
        ),
        Section("Rules of thumb beside it", headings=["rule", "it asks for", "the runs showed"],
                rows=[[one.name, one.says, one.here] for one in study.rules]),
        Section(
            "Equipment of the choice, spread over its life",
            headings=["part", f"price, {currency}", "life, years", f"{currency} a year, rounded"],
            rows=piece_rows(study.pieces),
        ),
        Section("Quoted items of the choice", headings=QUOTED_HEADINGS,
                rows=_quoted(question, study)),
        Section("The site's design on paper", headings=CRITERIA_HEADINGS,
                rows=criteria_rows(judged(scenario, units, question.site.rain))),
        Section("Every design", headings=_headings(currency, units), rows=_rows(study, units),
                shows_dose=True),
    ]  # fmt: skip
    basis = (
        f"{invented(study.pieces)} What goes with a size that is tried (resistance, dirt capacity, carbon "
        "bed, power) is scaled from the site's own numbers by area, volume or flow; nothing of a quoted "
        "item is. Means of designs that were screened out rest on fewer runs."
    )
    return page(f"{scenario.name}: which sizes?", answer.sentences, basis, sections, answer.manifest)


def piece_rows(pieces: Sequence[Piece]) -> list[list[str]]:
    """Return a row a piece of equipment: price, life, cost a year."""
    return [[one.part, number(one.price), given(round(one.years, 1)), number(one.cost)] for one in pieces]


def _quoted(question: SizeQuestion, study: SizeStudy) -> list[list[str]]:
    chosen = set(map(str, study.lines.iloc[0])) if study.found.chosen is not None else set()
    return [
        [
            item.name, item.stage or item.part, f"{number(item.price)} {item.currency}", item.date,
            ", ".join(key.replace("_", " ") for key in item.missing) or "nothing",
        ]
        for item in question.items
        if item.name in chosen
    ]  # fmt: skip


def _headings(currency: str, units: Units) -> list[str]:
    pressure = SHOWN[units]["pressure"].unit
    return [
        "design", "policy", "standing", "runs", f"cost, {currency}",
        "days below the dose target",
        "water off, h", f"least at the tap, {pressure}", f"5th percentile at the tap, {pressure}",
        "cartridge life, days",
        "pump starts", "runs under a minute", "draws above the UV's rated flow, %", "dry days",
    ]  # fmt: skip


def _rows(study: SizeStudy, units: Units) -> list[list[str]]:
    return [
        [
            str(line["design"]), str(line["policy"]), str(line["fate"]), str(line["runs"]),
            number(line["cost"]), number(line["days_below_target"]), number(line["water_off_h"]),
            *(text(float(line[n]), "pressure", units).split()[0] for n in ("tap_least_pa", "tap_p5_pa")),
            number(line["cartridge_days"]), number(line["pump_starts"]), number(line["short_runs"]),
            number(100 * line["over_uv_share"]), number(line["cistern_empty_days"]),
        ]
        for _, line in study.lines.iterrows()
    ]  # fmt: skip
