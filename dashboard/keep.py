"""What a visitor can take along: rows, site, report, and the same question on the command line."""

import shlex
from dataclasses import fields
from functools import partial
from typing import Any

import pandas as pd
import streamlit as st

from dashboard import frame
from dashboard.jobs.job_table import ReportOf, key_of
from dashboard.site import Site
from sim.constants import DAY_S
from sim.report.reports import REPORTS, report
from sim.study.question import Question
from sim.study.runs import store

REPORT = "The report (HTML)"
SMALL = {"type": "tertiary", "icon": ":material/download:"}  # how a download stands under a table
OPTIONS = {  # field of a question, its option on the command line
    "policy": "policy",
    "policies": "policy",
    "years": "years",
    "seed": "seed",
    "replication": "replication",
    "replications": "replications",
    "worth": "worth",
    "limit_days": "limit-days",
    "tries": "try",
    "only": "only",
    "tasks": "task",
    "from_s": "from",
    "until_s": "until",
    "units": "units",
}


def download(words: str, data: Any, file: str, mime: str, key: str, **more: Any) -> None:
    """Offer a file; one that is given as a function is made when it is wanted."""
    st.download_button(words, data, file, mime, on_click="ignore", key=key, **more)


def table_download(words: str, table: pd.DataFrame, name: str, **more: Any) -> None:
    """Offer a table as CSV, made when it is wanted: a refined answer replaces its tables meanwhile."""
    download(words, partial(store.csv_bytes, table), f"{name}.csv", "text/csv", f"get-{name}", **more)


def show(
    site: Site, question: Question[Any], answer: Any, rows: pd.DataFrame | None = None,
    report_words: str = REPORT,
) -> None:  # fmt: skip
    """Offer what can be kept of an answer."""
    st.header("Keep it")
    with st.container(horizontal=True):
        if rows is not None:
            table_download("Rows of every run (CSV)", rows, "rows")
        download("The site (TOML)", site.toml, "site.toml", "text/plain", "get-site")
        if question.kind in REPORTS:
            _report(question, answer, report_words)
    st.caption("The same on the command line, with the site and any rain file beside you:")
    st.code(shlex.join(command(question)), language=None, wrap_lines=True)


def command(question: Question[Any]) -> list[str]:
    """Return the words that ask the same on the command line."""
    words = ["cisterntwin", question.kind, "site.toml"]
    for one in fields(question):  # type: ignore[arg-type]
        value = getattr(question, one.name)
        if one.name in OPTIONS and value is not None:
            for item in value if isinstance(value, tuple) else (value,):
                words += [f"--{OPTIONS[one.name]}", _said(one.name, item)]
    return [*words, "--rain", "rain.csv"] if question.site.rain is not None else words


def _said(name: str, value: Any) -> str:
    if name.endswith("_s"):
        return f"{value / DAY_S:g} d"
    return f"{value:g}" if isinstance(value, float) else str(value)


def _report(question: Question[Any], answer: Any, words: str) -> None:
    """Offer the report; that of a comparison runs histories anew, so a worker makes it when wished for."""
    units = frame.units()
    data: Any = lambda: report(question, answer, units)  # noqa: E731
    if question.kind == "compare":
        wanted = ReportOf(question, answer, units)
        key = key_of(wanted)
        job = frame.jobs().get(key)
        if job is not None and job.active:
            frame.follow(key, "The report")
            return
        if job is None or job.state != "done":
            frame.tell_no_room()
            st.button("Make the report (HTML)", key="make-report", on_click=_start, args=(wanted,))
            return
        data = job.result
    download(
        words, data, "handout.html" if question.kind == "skip" else "report.html", "text/html", "get-report"
    )


def _start(wanted: ReportOf) -> None:
    frame.start(wanted)
