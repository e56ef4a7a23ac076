"""`size`: which cartridges, UV unit, tank, pump and cistern cost least within the limits."""

import argparse

import pandas as pd

from sim.commands.fitted import Fitted, figures, words
from sim.commands.inputs import policies_of, site_of
from sim.commands.screen import answer_console
from sim.commands.searched import kept, searched
from sim.scenario.quotation import Item
from sim.scenario.read.quotations import read_quotations
from sim.study.caution import cautioned
from sim.study.question import Site
from sim.study.size.question import SizeAnswer, SizeQuestion, tap_limit_pa
from sim.study.size.size_words import mover_lines, step_lines
from sim.study.size.sizes import SizeStudy
from sim.study.wording import number
from sim.units import SHOWN, Units, text

MOST_SHOWN = 15


def size(options: argparse.Namespace) -> int:
    """Search for the sizes that cost least within the limits of a site."""
    site = site_of(options)
    question = SizeQuestion(
        site=site, policies=policies_of(options, site), tries=tuple(options.tries or []),
        years=options.years, seed=options.seed, worth=options.worth, replications=options.replications,
        full=options.full, units=options.units, items=_items(options, site),
        by_criteria=not options.all_designs, limit_tap_pa=tap_limit_pa(options.limit_tap),
        intervals=tuple(options.with_intervals or []),
    )  # fmt: skip
    answer = searched(question, options)
    written = kept(question, answer, answer.files(), options)
    _print(answer, site.scenario.prices.currency, options.units)
    print(written)
    return 0


def _items(options: argparse.Namespace, site: Site) -> tuple[Item, ...]:
    if options.quotes is None:
        return ()
    return read_quotations(options.quotes, site.scenario.prices.currency, site.scenario.stage_names)


def table(study: SizeStudy, currency: str, units: Units) -> Fitted:
    """Return the table people see: the choice, the front, then the cheapest."""
    pressure = SHOWN[units]["pressure"].unit
    headings = (
        "cost", "days\nbelow", f"tap {pressure}\nleast / 5 %", "cartridge\ndays", "pump\nstarts",
        "short\nruns", "over\nUV %", "dry\ndays",
    )  # fmt: skip
    several = study.lines["policy"].nunique() > 1
    rows = []
    for at in _shown_rows(study):
        line = study.lines.iloc[at]
        name = f"{line['design']} ({line['policy']})" if several else str(line["design"])
        mark = "*" if at in study.front else "~" if at in study.undecided else ""
        rows.append([mark + name, *_cells(line, units), str(line["fate"])])
    return Fitted(
        f"Cost in {currency} with equipment, a year; * on the front of cost against days, ~ may be",
        [words("design", 18, 25), *map(figures, headings), words("standing")], rows,
    )  # fmt: skip


def _shown_rows(study: SizeStudy) -> list[int]:
    first = [0, *(at for at in study.front if at)]
    return [*first, *(at for at in range(len(study.lines)) if at not in first)][:MOST_SHOWN]


def _cells(line: pd.Series, units: Units) -> list[str]:
    tap = " / ".join(
        text(float(line[n]), "pressure", units).split()[0] for n in ("tap_least_pa", "tap_p5_pa")
    )
    return [
        number(float(line["cost"])),
        number(float(line["days_below_target"])),
        tap,
        number(float(line["cartridge_days"])),
        number(float(line["pump_starts"])),
        number(float(line["short_runs"])),
        number(100 * float(line["over_uv_share"])),
        number(float(line["cistern_empty_days"])),
    ]


def _print(answer: SizeAnswer, currency: str, units: Units) -> None:
    study, out = answer.study, answer_console()
    said = [cautioned(answer.sentences), "", "What each step up buys, all else as chosen:"]
    said += [f"  {line}" for line in step_lines(study, currency, units)]
    said += ["", "Rules of thumb beside it:"]
    said += [f"  {rule.name}: {rule.says}. {rule.here}" for rule in study.rules]
    if study.movers:
        said += ["", "What moves the difference between the choice and the next:"]
        said += [f"  {line}" for line in mover_lines(study.movers, currency)]
    out.print("\n".join(said), markup=False, highlight=False)
    out.print(table(study, currency, units))
    left = len(study.lines) - MOST_SHOWN
    if left > 0:
        out.print(f"{left} more designs stand in designs.csv.", markup=False, highlight=False)
