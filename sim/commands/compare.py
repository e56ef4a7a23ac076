"""`compare`: run every policy through the same weather, draws and failures; print, report, keep the rows."""

import argparse
from contextlib import AbstractContextManager
from pathlib import Path

from rich import box
from rich.markup import escape
from rich.progress import Progress
from rich.table import Table

from sim.commands import uncertain
from sim.commands.inputs import Inputs, chosen, read
from sim.commands.screen import answer_console, progress_bar
from sim.errors import InputError, Interrupted
from sim.scenario.care import Policy
from sim.scenario.values import ranges
from sim.study.caution import cautioned
from sim.study.compare.comparison import Comparison, compare_by_goals
from sim.study.compare.comparison_tables import difference_frame, summary_frame
from sim.study.compare.sentences import from_to, plus_minus, rating_sentence, sentences_of, three_digits
from sim.study.runs import store
from sim.study.runs.folder import held
from sim.study.runs.replicate import StudyResult, check_asked, replicated
from sim.study.runs.request import Design
from sim.study.runs.request import Inputs as Shared
from sim.study.runs.runner import StudyRunner, open_runner

UNFINISHED = "unfinished"  # folder of batches, beside the results, until these are whole


def compare(options: argparse.Namespace) -> int:
    """Compare policies of a site."""
    check_asked(options.seed, options.years, options.replications, options.workers, options.within)
    inputs = read(options)
    uncertain.check(options, inputs)
    policies = chosen_policies(options, inputs)
    reference = options.reference or policies[0].name
    bar = progress_bar()
    with held(store.prepare(options.out)), _open(options, inputs, policies, bar) as runner:
        with bar:
            result = replicated(runner, options.replications, options.within, reference)
            runner.close()  # what follows takes memory too
        code = conclude(options, inputs, policies, result, reference)
        if not result.interrupted and (others := runner.forget()):
            print(
                f"{options.out / UNFINISHED} keeps {others} batches of other questions that were not finished"
            )
    return code


def conclude(
    options: argparse.Namespace, inputs: Inputs, policies: list[Policy], result: StudyResult, reference: str
) -> int:
    """Keep, print and say what a study came to."""
    if result.finished == 0:
        raise Interrupted("interrupted before any run was finished; nothing was written")
    comparison = compare_by_goals(result.rows, reference, inputs.scenario.goals, result.by_spread)
    asked = result.wanted if result.interrupted else result.finished
    rating = rating_sentence(inputs.scenario.uv, options.units)
    sentences = sentences_of(comparison, inputs.scenario.prices.currency, asked, rating)
    drawn = None if result.interrupted else uncertain.draw(options, inputs, policies)
    # Kept before shown: a reader of our output that leaves early must not cost the results.
    store.sweep(options.out)
    names = _keep(options.out, options, inputs, policies, result, comparison, sentences, drawn)
    _print(result, comparison, sentences, inputs.scenario.prices.currency, drawn)
    print(f"Written to {options.out}: {', '.join(names)}")
    uncertain.forget(options, inputs, policies, drawn)
    stopped = result.interrupted or (drawn is not None and drawn[0].interrupted)
    return 130 if stopped else 0


def chosen_policies(options: argparse.Namespace, inputs: Inputs) -> list[Policy]:
    """Return the policies that are to be compared."""
    known = inputs.scenario.policies
    names = list(dict.fromkeys(options.policy or [policy.name for policy in known]))
    if not names:
        raise InputError("the site has no policy; wanted at least one [[policy]]")
    policies = [chosen(known, name) for name in names]
    if options.reference:
        chosen(policies, options.reference)
    return policies


def _open(
    options: argparse.Namespace, inputs: Inputs, policies: list[Policy], bar: Progress
) -> AbstractContextManager[StudyRunner]:
    """Open what runs the policies and shows on the bar how far it is."""
    per = len(policies)
    task = bar.add_task(f"{per} policies, {options.years} years a run", total=options.replications)
    begun = False

    def show(finished: int, wanted: int) -> None:
        nonlocal begun
        if finished and not begun:
            before = (
                f"{finished:,} of {wanted:,} runs were finished before and are in {options.out / UNFINISHED}"
            )
            bar.console.print(f"{before}; going on from there", markup=False, highlight=False)
        begun = True
        bar.update(task, completed=finished // per)

    return open_runner(
        [Design(inputs.scenario.name, inputs.scenario, tuple(policies))],
        Shared(options.seed, options.years, inputs.rain, inputs.draws),
        options.workers,
        options.out / UNFINISHED,
        options.scheduler,
        show,
    )


def table(result: StudyResult, comparison: Comparison, currency: str) -> Table:
    """Return the table people see first, a row a policy."""
    shown = Table(
        title=f"Means a year; cost in {currency}, bounds at 95 % confidence",
        title_justify="left",
        box=box.SIMPLE_HEAD,
        pad_edge=False,
        collapse_padding=True,
    )
    shown.add_column("policy", overflow="fold", min_width=14, max_width=18)
    for heading in (
        "cost",
        "water\noff h",
        "days below\ntarget",
        "by\npeople",
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
            "" if item.people_days is None else three_digits(item.people_days.estimate),
            *(three_digits(float(value)) for value in mean),
        )
    return shown


def _print(
    result: StudyResult, comparison: Comparison, sentences: list[str], currency: str, drawn: uncertain.Drawn
) -> None:
    console = answer_console()
    console.print(table(result, comparison, currency))
    if result.interrupted:
        console.print(
            f"Interrupted: {result.finished} of {result.wanted} replications were finished and are kept.",
            markup=False,
        )
    elif result.finished < result.wanted:
        console.print(result.stopped_because, markup=False, highlight=False)
    console.print(cautioned(sentences), markup=False, highlight=False)
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
    sentences: list[str],
    drawn: uncertain.Drawn,
) -> list[str]:
    from sim.report.html import comparison_report  # noqa: PLC0415  figures take a second to load, and lie to the right

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
    page = comparison_report.build(
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
