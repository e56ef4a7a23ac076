"""`skip`: the same house and weather with something left undone; what it led to, told and printed."""

import argparse

from sim import disk
from sim.commands.inputs import policy_of, site_of, write
from sim.report.reports import report
from sim.scenario.care import EVERYTHING
from sim.study.question import Site
from sim.study.questions import ask
from sim.study.runs import store
from sim.study.runs.means import Means
from sim.study.skip.question import SkipQuestion
from sim.study.skip.skip_words import words
from sim.study.skip.skipping import moment_s


def skip(options: argparse.Namespace) -> int:
    """Show what skipping tasks leads to."""
    site = site_of(options)
    question = SkipQuestion(
        site=site, policy=policy_of(options, site), tasks=tuple(options.task or [EVERYTHING]),
        from_s=_moment_s(options, site, options.start, "--from"),
        until_s=_moment_s(options, site, options.until, "--until") if options.until else None,
        years=options.years, seed=options.seed, replication=options.replication,
        replications=options.replications, units=options.units,
    )  # fmt: skip
    means = Means(options.workers)
    question.check()
    folder = disk.prepare(options.out)
    answer = ask(question, means)
    contents = {
        "handout.html": report(question, answer, options.units),
        **answer.files(),
        "manifest.json": store.json_bytes(answer.manifest),
    }
    written = write(folder, contents, site)
    print("\n".join([words(answer.story, answer.sentence), *site.said]))
    print(written)
    return 130 if answer.interrupted else 0


def _moment_s(options: argparse.Namespace, site: Site, words: list[str], name: str) -> float:
    return moment_s(" ".join(words), site.scenario.start, options.years, name)
