"""What `size` and `tune` share: how a search is run, and what is kept of it."""

import argparse
from collections.abc import Mapping
from typing import Any

from sim import disk
from sim.commands.fitted import Fitted, figures, words
from sim.commands.inputs import write
from sim.commands.screen import Bar
from sim.report.reports import report
from sim.study.caution import CAUTION
from sim.study.question import Answer_co, Question
from sim.study.questions import ask
from sim.study.runs import store
from sim.study.runs.means import Means
from sim.study.search.so_far import SoFar
from sim.study.wording import counted, number

RUNS = "runs"  # folder of finished batches under the output folder
MOST_SHOWN = 10  # of what was tried so far


def searched(question: Question[Answer_co], options: argparse.Namespace) -> Answer_co:
    """Search, with what was tried so far and the runs of the round; finished runs stay in the folder."""
    bar, currency = Bar("runs"), question.site.scenario.prices.currency
    means = Means(
        options.workers, options.out / RUNS, options.scheduler, bar.tell,
        on_partial=lambda found: bar.so_far(so_far_table(found, currency)),
    )  # fmt: skip
    question.check()
    disk.prepare(options.out)
    with bar:
        return ask(question, means)


def so_far_table(found: SoFar, currency: str) -> Fitted:
    """Return the cheapest that were tried so far, as people see them while the search goes on."""
    headings = ("runs", f"cost, {currency}\na year", "days below\ntarget a year", "water-off\nh a year")
    rows = [
        [name, str(runs), *map(number, means)]
        for name, runs, *means in found.table.head(MOST_SHOWN).itertuples(index=False)
    ]
    return Fitted(
        f"{CAUTION}\nSo far, after {counted(found.finished, 'run')}: means of few runs, no verdict",
        [words("tried", 14), *map(figures, headings)], rows,
    )  # fmt: skip


def kept(
    question: Question[Any], answer: Any, files: Mapping[str, bytes], options: argparse.Namespace
) -> str:
    """Write the tables of a search, its report and its manifest; return the line that says so."""
    more = {
        "report.html": report(question, answer, options.units),
        "manifest.json": store.json_bytes(answer.manifest),
    }
    return write(options.out, {**files, **more}, question.site)
