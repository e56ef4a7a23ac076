"""`size`: which cartridges, UV unit, tank, pump and cistern cost least within the limits."""

import argparse

import pandas as pd
from rich import box
from rich.markup import escape
from rich.table import Table

from sim.commands import searching
from sim.commands.inputs import read
from sim.commands.screen import answer_console
from sim.study import rain_record
from sim.study.caution import cautioned
from sim.study.compare.sentences import three_digits
from sim.study.runs import store
from sim.study.search.alternatives import choices, gathered
from sim.study.search.search_tables import mover_frame, rule_frame, step_frame
from sim.study.size.size_words import mover_lines, size_sentences, step_line
from sim.study.size.sizes import SizeStudy, size_study
from sim.units import SHOWN, shown

MOST_SHOWN = 15


def size(options: argparse.Namespace) -> int:
    """Search for the sizes that cost least within the limits of a site."""
    searching.check(options)
    inputs = read(options)
    policies = searching.policies_of(options, inputs)
    alternatives = gathered(inputs.scenario, options.tries or [])
    choices(inputs.scenario, alternatives, policies)  # refuses before long work begins
    folder = store.prepare(options.out)
    with searching.opened(options, inputs, folder) as opener:
        study = size_study(
            inputs.scenario, alternatives, policies, opener, options.worth, options.replications,
            options.full, options.units, inputs.rain,
        )  # fmt: skip
    currency = inputs.scenario.prices.currency
    sentences = [*size_sentences(study, currency), *rain_record.said(inputs.rain)]
    asked: dict[str, object] = {
        "full": options.full,
        "alternatives": {one.key: [str(value) for value in one.values] for one in alternatives},
    }
    manifest = searching.manifest(options, inputs, policies, len(study.rows), asked)
    from sim.report.html.size_report import size_page  # noqa: PLC0415  figures take a second to load

    page = size_page(inputs.scenario, study, sentences, manifest, options.units)
    contents = {
        **store.table_files("rows", study.rows),
        **store.table_files("designs", study.lines),
        "steps.csv": store.csv_bytes(step_frame(study.steps)),
        "rules.csv": store.csv_bytes(rule_frame(study.rules)),
        "movers.csv": store.csv_bytes(mover_frame(study.movers)),
        "report.html": page.encode(),
        "manifest.json": store.json_bytes(manifest),
    }
    names = [file.name for file in store.write_all(folder, contents)]
    _print(study, sentences, currency, options.units)
    print(f"Written to {folder}: {', '.join(names)}")
    return 0


def table(study: SizeStudy, currency: str, units: str) -> Table:
    """Return the table people see: the choice, the front, then the cheapest.

    Parameters
    ----------
    units : str
        "us" or "si".
    """
    pressure = SHOWN[units]["pressure"].unit
    made = Table(
        title=f"Means a year; cost in {currency} with equipment; * on the front of cost against days",
        title_justify="left", box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0),
    )  # fmt: skip
    made.add_column("design", overflow="fold", max_width=25)
    for heading in (
        "cost", "days\nbelow", f"tap {pressure}\nleast / 5 %", "cartridge\ndays", "pump\nstarts",
        "short\nruns", "over\nUV %", "dry\ndays",
    ):  # fmt: skip
        made.add_column(heading, justify="right", no_wrap=True)
    made.add_column("standing", overflow="fold")
    several = study.lines["policy"].nunique() > 1
    for at in _shown_rows(study):
        line = study.lines.iloc[at]
        name = f"{line['design']} ({line['policy']})" if several else str(line["design"])
        mark = "*" if at in study.front else ""
        made.add_row(escape(mark + name), *_cells(line, units), str(line["fate"]))
    return made


def _shown_rows(study: SizeStudy) -> list[int]:
    first = [0, *(at for at in study.front if at)]
    return [*first, *(at for at in range(len(study.lines)) if at not in first)][:MOST_SHOWN]


def _cells(line: pd.Series, units: str) -> list[str]:
    tap = " / ".join(
        f"{shown(float(line[n]), 'pressure', units)[0]:.0f}" for n in ("tap_least_pa", "tap_p5_pa")
    )
    return [
        three_digits(float(line["cost"])),
        three_digits(float(line["days_below_target"])),
        tap,
        f"{float(line['cartridge_days']):.0f}",
        three_digits(float(line["pump_starts"])),
        three_digits(float(line["short_runs"])),
        f"{100 * float(line['over_uv_share']):.2g}",
        three_digits(float(line["cistern_empty_days"])),
    ]


def _print(study: SizeStudy, sentences: list[str], currency: str, units: str) -> None:
    out = answer_console()
    said = [cautioned(sentences), "", "What each step up buys, all else as chosen:"]
    said += [f"  {step_line(step, currency, units)}" for step in study.steps]
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
