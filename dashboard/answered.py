"""A comparison that was answered: the words first, then figures, then what to keep."""

import shlex

import pandas as pd
import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from dashboard import frame, plates
from dashboard.jobs.job_table import Job, key_of
from dashboard.jobs.worker import Question
from dashboard.site import Site
from dashboard.words import answered, caution, extrapolated
from sim.report.figures.comparison_figures import comparison_plates
from sim.scenario.care import Goals
from sim.study.compare.comparison import Comparison, compare_by_goals
from sim.study.compare.sentences import rating_sentence, sentences_of, what_would_change_this
from sim.study.runs import store


def show(site: Site, question: Question, key: str, job: Job, first: DeltaGenerator) -> None:
    """Show the answer to a comparison."""
    rows: pd.DataFrame = job.result.rows if job.result is not None else pd.DataFrame()
    if rows.empty:
        st.warning("Stopped before a run was finished. Press the button to begin again.")
        caution()
        return
    currency = site.scenario.prices.currency
    found = _compared(f"{key}-{len(rows)}", rows, question.policies[0], site.scenario.goals)
    with first:
        if job.state == "cancelled":
            finished, wanted = job.result.finished, job.result.wanted
            st.warning(f"Stopped: {finished} of {wanted} runs were finished and are shown.")
        rating = rating_sentence(site.scenario.uv, frame.units())
        answered(
            sentences_of(found, currency, question.replications, rating),
            what_would_change_this(found, currency),
        )
        extrapolated(rows.get("extrapolated", ()))
    for plate in comparison_plates(rows, found, site.scenario.goals, currency):
        plates.show(plate)
    _keep(site, question, job, rows)


@st.cache_data(max_entries=40, show_spinner=False)
def _compared(named: str, _rows: pd.DataFrame, reference: str, _goals: Goals) -> Comparison:
    """Resample once for each answer; `named` stands for rows and goals, which are part of the question."""
    del named
    return compare_by_goals(_rows, reference, _goals)


def _keep(site: Site, question: Question, job: Job, rows: pd.DataFrame) -> None:
    st.header("Keep it")
    with st.container(horizontal=True):
        st.download_button(
            "Rows of every run (CSV)", store.csv_bytes(rows), "rows.csv", "text/csv", on_click="ignore",
            key="get-rows",
        )  # fmt: skip
        st.download_button(
            "The site (TOML)", site.toml, "site.toml", "text/plain", on_click="ignore", key="get-site"
        )
        _report(question, rows)
    words = ["cisterntwin", "compare", "site.toml", "--years", str(question.years)]
    words += ["--replications", str(question.replications), "--seed", str(question.seed)]
    words += ["--rain", "rain.csv"] if site.rain is not None else []
    words += [word for name in question.policies for word in ("--policy", name)]
    st.caption("The same rows on the command line, with the site and any rain file beside you:")
    st.code(shlex.join(words), language=None, wrap_lines=True)
    st.caption(f"Answered in {job.took_s:.1f} s of work.")


def _report(question: Question, rows: pd.DataFrame) -> None:
    """Offer the report: made by a worker when wished for, as it runs two histories anew."""
    wanted = Question(
        "report", question.scenario, question.digest, question.policies, question.years,
        question.replications, question.seed, question.rain, frame.units(), rows,
    )  # fmt: skip
    key = key_of(wanted)
    job = frame.jobs().get(key)
    if job is not None and job.state == "done":
        st.download_button(
            "The report (HTML)", job.result, "report.html", "text/html", on_click="ignore", key="get-report"
        )
    elif job is not None and job.active:
        frame.follow(key, "The report")
    else:
        st.button("Make the report (HTML)", key="make-report", on_click=_begin, args=(wanted,))


def _begin(question: Question) -> None:
    frame.jobs().start(question)
