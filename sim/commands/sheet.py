"""`sheet`: the design sheet of a site, a few pages to print and to sign."""

import argparse
from datetime import date

from sim import disk
from sim.commands.check import DONE
from sim.commands.inputs import site_of, write
from sim.commands.screen import Bar
from sim.report.reports import report
from sim.study.caution import CAUTION
from sim.study.check.criteria import verdict
from sim.study.questions import ask
from sim.study.runs import store
from sim.study.runs.means import Means
from sim.study.sheet.question import SheetQuestion
from sim.study.visits.visits import read_date


def sheet(options: argparse.Namespace) -> int:
    """Write the design sheet of a site."""
    question = SheetQuestion(
        site=site_of(options), years=options.years, seed=options.seed, policy=options.policy or "",
        replications=options.replications, revision=options.revision, units=options.units,
        start=read_date(options.start, "--from") if options.start else date.today(),
    )  # fmt: skip
    question.check()
    folder, bar = disk.prepare(options.out), Bar("runs")
    with bar:
        answer = ask(question, Means(options.workers, None, None, bar.tell))
    contents = {
        "sheet.html": report(question, answer, options.units),
        "manifest.json": store.json_bytes(answer.manifest),
    }
    print(CAUTION)
    print(verdict(answer.criteria))
    print(write(folder, contents, question.site))
    return DONE
