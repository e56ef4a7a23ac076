"""`compare`: run every policy through the same weather, draws and failures; print, report, keep the rows."""

import argparse
import sys
from pathlib import Path

from rich.console import Console

from sim import disk
from sim.commands.batch import compare_many
from sim.commands.fitted import Fitted, figures, words
from sim.commands.inputs import policies_of, site_of, write
from sim.commands.screen import Bar, answer_console
from sim.errors import InputError
from sim.report.reports import report
from sim.scenario.values import ranges
from sim.study.caution import CAUTION, as_text
from sim.study.compare.comparison_tables import side_by_side
from sim.study.compare.question import CompareAnswer, CompareQuestion
from sim.study.compare.sentences import LEAD
from sim.study.questions import ask
from sim.study.runs import store
from sim.study.runs.folder import held
from sim.study.runs.means import Means, Told
from sim.study.uncertain import robust_words
from sim.study.uncertain.question import UncertainAnswer, UncertainQuestion
from sim.units import Units

UNFINISHED = "unfinished"  # folders of batches, beside the results, until these are whole
UNFINISHED_DRAWS = "unfinished_draws"
EACH = 4  # runs of each policy at a draw, where none are named


def compare(options: argparse.Namespace) -> int:
    """Compare policies of a site, or of each of several."""
    if len(options.site) > 1:
        return compare_many(options)
    options.site = options.site[0] if options.site else None
    site, out = site_of(options), options.out
    question = CompareQuestion(
        site=site, policies=policies_of(options, site), reference=options.reference or "",
        years=options.years, seed=options.seed, replications=options.replications, within=options.within,
    )  # fmt: skip
    bar = Bar(f"{len(question.policies)} policies, {options.years} years a run")
    currency = site.scenario.prices.currency
    means = Means(
        options.workers, out / UNFINISHED, options.scheduler, bar.tell, _resumed(out / UNFINISHED),
        lambda rough: bar.so_far(table(rough, currency, f", so far, after {rough.finished} runs")),
    )  # fmt: skip
    question.check()
    over = _over_what_is_uncertain(options, question)
    with held(disk.prepare(out)):
        with bar:
            answer = ask(question, means)
        drawn = None if over is None or answer.interrupted else _draw(options, over)
        # Kept before shown: a reader of our output that leaves early must not cost the results.
        disk.sweep(out)
        written = _keep(out, question, answer, None if drawn is None else drawn[0], options.units)
        _print(answer, None if drawn is None else drawn[0], currency)
        print(written)
        if drawn is not None and not drawn[0].interrupted:
            drawn[1].forget()
        if not answer.interrupted and (others := means.forget()):
            print(f"{means.folder} keeps {others} batches of other questions that were not finished")
    return 130 if answer.interrupted or (drawn is not None and drawn[0].interrupted) else 0


def _draw(options: argparse.Namespace, over: UncertainQuestion) -> tuple[UncertainAnswer, Means]:
    bar = Bar(f"{over.draws} draws of what is uncertain")
    means = Means(options.workers, options.out / UNFINISHED_DRAWS, options.scheduler, bar.tell)
    with bar:
        return ask(over, means), means


def _over_what_is_uncertain(options: argparse.Namespace, asked: CompareQuestion) -> UncertainQuestion | None:
    """Return what is asked over what is uncertain; options that are of no use without it are refused."""
    if options.uncertain is None:
        for name in ("each", "known"):
            if getattr(options, name):
                raise InputError(f"--{name} is of no use without --uncertain N; wanted both or neither")
        return None
    found = UncertainQuestion(
        site=asked.site, policies=asked.policies, years=asked.years, seed=asked.seed,
        draws=options.uncertain, each=EACH if options.each is None else options.each,
        known=tuple(options.known),
    )  # fmt: skip
    found.check()
    return found


def _resumed(folder: Path) -> Told:
    def say(finished: int, wanted: int, what: str) -> None:
        del what
        before = f"{finished:,} of {wanted:,} runs were finished before and are in {folder}"
        print(f"{before}; going on from there", file=sys.stderr)

    return say


def table(answer: CompareAnswer, currency: str, when: str = "") -> Fitted:
    """Return the table people see first, a row a policy."""
    headings, rows = side_by_side(answer.comparison, answer.rows, currency, short=True)
    columns = [words(headings[0], 14, 18), *map(figures, headings[1:])]
    title = f"Averages over a year; cost in {currency}, bounds at 95 % confidence{when}"
    return Fitted(title, columns, rows)


def _print(answer: CompareAnswer, drawn: UncertainAnswer | None, currency: str) -> None:
    console = answer_console()
    console.print(CAUTION + "\n", markup=False, highlight=False)
    console.print(table(answer, currency))
    if answer.interrupted:
        console.print(
            f"Interrupted: {answer.finished} of {answer.wanted} replications were finished and are kept.",
            markup=False,
        )
    elif answer.finished < answer.wanted:
        console.print(answer.stopped_because, markup=False, highlight=False)
    console.print(as_text(answer.sentences, LEAD), markup=False, highlight=False)
    if beyond := ranges.joined(answer.rows["extrapolated"]):
        console.print(ranges.said(beyond), markup=False, highlight=False)
    if drawn is not None:
        _print_drawn(console, drawn, currency)


def _print_drawn(console: Console, drawn: UncertainAnswer, currency: str) -> None:
    if drawn.robust is None:
        console.print("Interrupted before two draws over what is uncertain were finished: none is shown.")
        return
    title = "Over what is uncertain; ± are standard deviations due to the inputs and between runs"
    first, *others = robust_words.HEADINGS
    columns = [words(first, 14), *map(figures, others)]
    console.print(Fitted(title, columns, robust_words.table_rows(drawn.robust)))
    console.print(robust_words.sentences(drawn.robust, currency), markup=False, highlight=False)


def _keep(
    out: Path, question: CompareQuestion, answer: CompareAnswer, drawn: UncertainAnswer | None, units: Units
) -> str:
    manifest = answer.manifest | ({} if drawn is None else {"uncertain": drawn.manifest})
    contents = {
        **answer.files(),
        **({} if drawn is None else drawn.files()),
        "report.html": report(question, answer, units, drawn),
        "manifest.json": store.json_bytes(manifest),
    }
    return write(out, contents, question.site)
