"""`compare` on many sites: each into a folder of its own, a row a site in one table; what is done is kept."""

import argparse
import json
from copy import copy
from pathlib import Path
from typing import Any

import pandas as pd

from sim import disk
from sim.commands.fitted import Fitted, figures, words
from sim.commands.inputs import policies_of, site_of, write
from sim.commands.screen import Bar, answer_console
from sim.errors import InputError, Interrupted
from sim.report.reports import report
from sim.study.caution import CAUTION
from sim.study.check.criteria import failed, judged
from sim.study.compare.headline import spoken_of
from sim.study.compare.question import CompareAnswer, CompareQuestion
from sim.study.questions import ask, content_of
from sim.study.runs import store
from sim.study.runs.means import Means
from sim.study.wording import from_to, listed, plus_minus
from sim.version import program_version

ROW = "row.json"  # of a finished site, with what it was an answer to
COLUMNS = ("site", "choose", "cost", "currency", "days below target", "fails on paper")
_FIGURES = ("cost", "days below target")  # of the columns


def compare_many(options: argparse.Namespace) -> int:
    """Compare policies of several sites, one after the other."""
    for name in ("uncertain", "reference", "rain", "draws"):
        if getattr(options, name):
            raise InputError(f"--{name} goes with one site; wanted one, or no --{name}")
    asked = {_folder(site): _question(options, site) for site in options.site}
    if len(asked) < len(options.site):
        raise InputError("two sites have the same file name; wanted each once, as it names their folder")
    for question in asked.values():
        question.check()
    disk.prepare(options.out)
    rows = []
    for name, question in asked.items():
        row = _kept(options.out / name, question) or _row(options, name, question)
        if row is None:
            break
        rows.append(row)
    if not rows:
        raise Interrupted("interrupted before any site was finished; the same command goes on")
    table = pd.DataFrame(rows, columns=list(COLUMNS))
    _print(table)
    print(write(options.out, {"sites.csv": store.csv_bytes(table)}))
    if len(rows) < len(asked):
        print(
            f"Interrupted: {len(rows)} of {len(asked)} sites were finished and are kept; the same command "
            "goes on from there."
        )
        return 130
    return 0


def _folder(site: str) -> str:
    return Path(site).stem


def _question(options: argparse.Namespace, name: str) -> CompareQuestion:
    alone = copy(options)
    alone.site = name
    site = site_of(alone)
    return CompareQuestion(
        site=site, policies=policies_of(options, site), years=options.years, seed=options.seed,
        replications=options.replications, within=options.within,
    )  # fmt: skip


def _row(options: argparse.Namespace, name: str, question: CompareQuestion) -> dict[str, str] | None:
    """Compare one site and keep its answer; None when it was interrupted."""
    out, bar = disk.prepare(options.out / name), Bar(name)
    means = Means(options.workers, out / "unfinished", options.scheduler, bar.tell)
    try:
        with bar:
            answer = ask(question, means)
    except Interrupted:  # before a run of this site was finished; sites before it are
        return None
    if answer.interrupted:
        return None
    row = _told(question, answer)
    contents = {**answer.files(), "report.html": report(question, answer, options.units)}
    about = {"key": _key(question), "row": row}
    write(
        out,
        {**contents, "manifest.json": store.json_bytes(answer.manifest), ROW: store.json_bytes(about)},
        question.site,
    )
    means.forget()
    return row


def _told(question: CompareQuestion, answer: CompareAnswer) -> dict[str, str]:
    scenario, found = question.site.scenario, answer.comparison
    shown = spoken_of(found)
    choice = shown.policy if found.best == shown.policy else f"not settled: {shown.policy}"
    failing = dict.fromkeys(one.key for one in failed(judged(scenario, "us", question.site.rain)))
    said = (
        scenario.name, choice, plus_minus(shown.cost), scenario.prices.currency,
        from_to(shown.days_below_target),
        listed(list(failing)) or "nothing",
    )  # fmt: skip
    return dict(zip(COLUMNS, said, strict=True))


def _kept(folder: Path, question: CompareQuestion) -> dict[str, str] | None:
    """Return the row of a site that was finished before, when it answers the same question."""
    try:
        about: Any = json.loads((folder / ROW).read_text(encoding="utf-8"))
        return dict(about["row"]) if about["key"] == _key(question) else None
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _key(question: CompareQuestion) -> str:
    return f"{content_of(question)} {program_version()}"


def _print(table: pd.DataFrame) -> None:
    title, rows = "Averages over a year, bounds at 95 % confidence", table.itertuples(index=False)
    columns = [figures(one) if one in _FIGURES else words(one) for one in COLUMNS]
    print(CAUTION)
    answer_console().print(Fitted(title, columns, [*rows]))
