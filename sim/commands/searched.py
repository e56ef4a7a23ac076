"""What `size` and `tune` share: how a search is run, and what is kept of it."""

import argparse
from collections.abc import Mapping
from typing import Any

from sim import disk
from sim.commands.inputs import write
from sim.commands.screen import Bar
from sim.report.reports import report
from sim.study.question import Answer_co, Question
from sim.study.questions import ask
from sim.study.runs import store
from sim.study.runs.means import Means

RUNS = "runs"  # folder of finished batches under the output folder


def searched(question: Question[Answer_co], options: argparse.Namespace) -> Answer_co:
    """Search, with a bar that shows the runs of the round under way; finished runs stay in the folder."""
    bar = Bar("runs")
    means = Means(options.workers, options.out / RUNS, options.scheduler, bar.tell)
    question.check()
    disk.prepare(options.out)
    with bar:
        return ask(question, means)


def kept(
    question: Question[Any], answer: Any, files: Mapping[str, bytes], options: argparse.Namespace
) -> str:
    """Write the tables of a search, its report and its manifest; return the line that says so."""
    more = {
        "report.html": report(question, answer, options.units),
        "manifest.json": store.json_bytes(answer.manifest),
    }
    return write(options.out, {**files, **more}, question.site)
