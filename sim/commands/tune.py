"""`tune`: the intervals and thresholds of a policy that cost least within the limits."""

import argparse

from rich import box
from rich.table import Table

from sim.commands import searching
from sim.commands.inputs import chosen, read
from sim.commands.screen import answer_console
from sim.errors import InputError
from sim.study import rain_record
from sim.study.caution import cautioned
from sim.study.compare.sentences import three_digits
from sim.study.runs import store
from sim.study.search.limits import Limits
from sim.study.search.search_tables import mover_frame
from sim.study.tune.settings_grid import chosen_dials, dials
from sim.study.tune.tune import TuneStudy, tune_study
from sim.study.tune.tune_tables import curve_frame, hard_frame
from sim.study.tune.tune_words import curve_line, tune_sentences


def tune(options: argparse.Namespace) -> int:
    """Search for the intervals of a policy that cost least within the limits."""
    searching.check(options)
    inputs = read(options)
    scenario = inputs.scenario
    policy = chosen(scenario.policies, options.policy) if options.policy else scenario.policies[0]
    limit = scenario.goals.limit_days_below_target if options.limit_days is None else options.limit_days
    if not 0 <= limit <= 366:
        raise InputError(f"limit-days is {limit:g}; wanted 0 to 366")
    chosen_dials(
        dials(scenario, policy, options.years), options.only or []
    )  # refuses before long work begins
    folder = store.prepare(options.out)
    with searching.opened(options, inputs, folder) as opener:
        study = tune_study(
            scenario, policy, opener, Limits(limit, scenario.goals.limit_water_off_h), options.worth,
            options.replications, options.years, options.only or [],
        )  # fmt: skip
    currency = scenario.prices.currency
    sentences = [*tune_sentences(study, currency, options.units), *rain_record.said(inputs.rain)]
    asked: dict[str, object] = {"limit_days": limit, "only": options.only or []}
    manifest = searching.manifest(options, inputs, [policy.name], study.runs, asked)
    from sim.report.html.tune_report import tune_page  # noqa: PLC0415  figures take a second to load

    page = tune_page(scenario, study, sentences, manifest, options.units)
    contents = {
        **store.table_files("rows", study.rows),
        **store.table_files("curves", curve_frame(study, options.units)),
        "hard.csv": store.csv_bytes(hard_frame(study, options.units)),
        "movers.csv": store.csv_bytes(mover_frame(study.movers)),
        "report.html": page.encode(),
        "manifest.json": store.json_bytes(manifest),
    }
    names = [file.name for file in store.write_all(folder, contents)]
    _print(study, sentences, currency, options.units)
    print(f"Written to {folder}: {', '.join(names)}")
    return 0


def table(study: TuneStudy, currency: str, units: str) -> Table:
    """Return the table people see: each dial, where it stands, the choice, the flat part.

    Parameters
    ----------
    units : str
        "us" or "si".
    """
    made = Table(
        title=f"Around the choice; flat: within {three_digits(study.worth)} {currency} a year and the limits",
        title_justify="left", box=box.SIMPLE_HEAD,
    )  # fmt: skip
    made.add_column("what", overflow="fold", max_width=32)
    for heading in ("now", "choice", "flat from", "to"):
        made.add_column(heading, justify="right", no_wrap=True)
    for curve in study.curves:
        dial = curve.dial
        levels = (dial.own, curve.level, *curve.flat)
        made.add_row(dial.name, *(dial.said(level, units) for level in levels))
    return made


def _print(study: TuneStudy, sentences: list[str], currency: str, units: str) -> None:
    out = answer_console()
    lines = [cautioned(sentences), "", "The flat part and the cliff, all else as chosen:"]
    lines += [f"  {curve_line(curve, study, currency, units)}" for curve in study.curves]
    out.print("\n".join(lines), markup=False, highlight=False)
    out.print(table(study, currency, units))
