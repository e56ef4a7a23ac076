"""`compare`: run every policy through the same weather, draws and failures; print, report, keep the rows."""

import argparse
from pathlib import Path

from rich import box
from rich.console import Console
from rich.markup import escape
from rich.progress import (
    BarColumn,
    MofNCompleteColumn,
    Progress,
    TextColumn,
    TimeElapsedColumn,
    TimeRemainingColumn,
)
from rich.table import Table

from sim.commands import uncertain
from sim.commands.inputs import Inputs, at_least, chosen, read
from sim.errors import InputError, Interrupted
from sim.scenario import ranges
from sim.scenario.care import Policy
from sim.study import store
from sim.study.answer import answer, from_to, plus_minus, three_digits
from sim.study.comparison import Comparison, compare_by_goals
from sim.study.replicate import StudyResult, study
from sim.study.tables import difference_frame, summary_frame

WIDTH = 100  # columns of a screen


def compare(options: argparse.Namespace) -> int:
    """Compare policies of a site.

    Parameters
    ----------
    options : Namespace
        As the parser reads them.

    Returns
    -------
    int
        Exit code.
    """
    for name, least in (("years", 1), ("replications", 1), ("workers", 1), ("seed", 0)):
        at_least(name, getattr(options, name), least)
    if options.within is not None and not options.within > 0:
        raise InputError(f"within is {options.within:g}; wanted an amount of money above 0")
    inputs = read(options)
    uncertain.check(options, inputs)
    policies = _policies(options, inputs)
    reference = options.reference or policies[0].name
    folder = store.prepare(options.out)
    result = _study(options, inputs, policies, reference)
    if result.finished == 0:
        raise Interrupted("interrupted before any run was finished; nothing was written")
    comparison = compare_by_goals(result.rows, reference, inputs.scenario.goals)
    asked = result.wanted if result.interrupted else result.finished
    sentences = answer(comparison, inputs.scenario.prices.currency, asked)
    drawn = None if result.interrupted else uncertain.draw(options, inputs, policies)
    # Kept before shown: a reader of our output that leaves early must not cost the results.
    names = _keep(folder, options, inputs, policies, result, comparison, sentences, drawn)
    _print(result, comparison, sentences, inputs.scenario.prices.currency, drawn)
    print(f"Written to {folder}: {', '.join(names)}")
    stopped = result.interrupted or (drawn is not None and drawn[0].interrupted)
    return 130 if stopped else 0


def _policies(options: argparse.Namespace, inputs: Inputs) -> list[Policy]:
    known = inputs.scenario.policies
    names = list(dict.fromkeys(options.policy or [policy.name for policy in known]))
    if not names:
        raise InputError("the site has no policy; wanted at least one [[policy]]")
    policies = [chosen(known, name) for name in names]
    if options.reference:
        chosen(policies, options.reference)
    return policies


def _study(
    options: argparse.Namespace, inputs: Inputs, policies: list[Policy], reference: str
) -> StudyResult:
    bar = Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
        TextColumn("left"),
        TimeRemainingColumn(),
        console=Console(stderr=True),
        transient=True,
    )
    with bar:
        task = bar.add_task(
            f"{len(policies)} policies, {options.years} years a run", total=options.replications
        )
        return study(
            inputs.scenario,
            policies,
            options.seed,
            options.years,
            options.replications,
            options.workers,
            inputs.rain,
            inputs.draws,
            lambda finished, wanted: bar.update(task, completed=finished, total=wanted),
            options.within,
            reference,
        )


def table(result: StudyResult, comparison: Comparison, currency: str) -> Table:
    """Return the table people see first, a row a policy.

    Parameters
    ----------
    result : StudyResult
        Rows of the study.
    comparison : Comparison
        What they say.
    currency : str
        Name of the money.

    Returns
    -------
    Table
        Yearly means, with bounds where the runs give them.
    """
    shown = Table(
        title=f"Means a year; cost in {currency}, bounds at 95 % confidence",
        title_justify="left",
        box=box.SIMPLE_HEAD,
    )
    shown.add_column("policy", overflow="fold", max_width=18)
    for heading in (
        "cost",
        "water\noff h",
        "days below\ntarget",
        "unsafe-\nwater h",
        "silent\ndays",
        "visits",
        "owner\nhours",
    ):
        shown.add_column(heading, justify="right", no_wrap=True)
    means = (
        result.rows.groupby("policy")[["unsafe_water_h", "silent_days", "visits", "owner_h"]]
        .mean()
        .to_dict("index")
    )
    for item in comparison.summaries:
        mean = means[item.policy].values()
        shown.add_row(
            escape(item.policy),
            plus_minus(item.cost),
            three_digits(item.water_off_h.estimate),
            from_to(item.days_below_target),
            *(three_digits(float(value)) for value in mean),
        )
    return shown


def _print(
    result: StudyResult, comparison: Comparison, sentences: str, currency: str, drawn: uncertain.Drawn
) -> None:
    console = Console()
    console.width = min(console.width, WIDTH) if console.is_terminal else WIDTH
    console.print(table(result, comparison, currency))
    if result.interrupted:
        console.print(
            f"Interrupted: {result.finished} of {result.wanted} replications were finished and are kept.",
            markup=False,
        )
    elif result.finished < result.wanted:
        console.print(result.stopped_because, markup=False, highlight=False)
    console.print(sentences, markup=False, highlight=False)
    if beyond := ranges.joined(result.rows["extrapolated"]):
        console.print(ranges.said(beyond), markup=False, highlight=False)
    uncertain.show(console, drawn, currency)


def _keep(
    folder: Path,
    options: argparse.Namespace,
    inputs: Inputs,
    policies: list[Policy],
    result: StudyResult,
    comparison: Comparison,
    sentences: str,
    drawn: uncertain.Drawn,
) -> list[str]:
    from dashboard import report  # noqa: PLC0415  figures take a second to load, and lie to the right

    manifest = store.manifest(
        inputs.scenario.name,
        inputs.digest,
        [policy.name for policy in policies],
        options.seed,
        options.years,
        result.finished,
        result.wanted,
        result.stopped_because,
        comparison.reference,
    )
    if drawn is not None:
        manifest["uncertain"] = uncertain.note(drawn, options.each)
    page = report.build(
        inputs.scenario,
        result.rows,
        comparison,
        sentences,
        manifest,
        inputs.rain,
        inputs.draws,
        options.units,
        drawn[1] if drawn is not None else None,
    )
    contents = {
        **store.table_files("rows", result.rows),
        "summary.csv": store.csv_bytes(summary_frame(comparison)),
        "differences.csv": store.csv_bytes(difference_frame(comparison)),
        **uncertain.files(drawn),
        "report.html": page.encode(),
        "manifest.json": store.json_bytes(manifest),
    }
    return [file.name for file in store.write_all(folder, contents)]
