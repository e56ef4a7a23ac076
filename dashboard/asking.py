"""How a page asks: the title, the question, how far the answer is or why there is none; then the answer."""

from collections.abc import Callable
from typing import Any, TypeVar

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from dashboard import frame
from dashboard.jobs.job_table import Job, key_of
from dashboard.site import Site
from dashboard.words import caution
from sim.study.question import Question
from sim.study.search.so_far import SoFar
from sim.study.wording import counted

Asked = TypeVar("Asked", bound=Question[Any])


def page(
    title: str,
    ask: Callable[[Site], Asked | None],
    show: Callable[[Site, Asked, Job, DeltaGenerator], None],
    noun: str,
    excuse: str,
    key: str = "",
    before: str = "",
    at_once: bool = False,
) -> None:
    """Show a page that asks a question; its answer, once there is one, has a place above the question.

    With the key of a button it is asked when that was pressed, and until then something else stands there;
    without one it is asked at once. A page that answers at once also asks when somebody comes to it. Rough
    answers, of questions that have any, are shown until the work is done.
    """
    st.title(title)
    site, first = frame.site(), st.container()
    question = ask(site)
    job = None if question is None else answered(question, noun, excuse, key, before, at_once)
    if question is None or job is None:
        caution()
    elif isinstance(job.answer, SoFar):
        with first:
            _so_far_table(job, site.scenario.prices.currency)
    else:
        show(site, question, job, first)


def button(words: str, key: str, disabled: bool = False, **state: Any) -> None:
    """Show the button that asks; pressing it may put other things of the page back."""
    st.button(
        words, type="primary", disabled=disabled, key=key,
        on_click=lambda: st.session_state.update({f"asked-{key}": True, **state}),
    )  # fmt: skip


def so_far(question: Question[Any]) -> tuple[str, Job | None, Any]:
    """Ask what was not asked yet; return its key, its job and its answer, the rough one until it is whole."""
    table, name = frame.jobs(), key_of(question)
    if table.get(name) is None:
        frame.start(question)
        frame.tell_no_room()
    job = table.get(name)
    return name, job, None if job is None else job.answer


def tightens(job: Job) -> None:
    """Say of an answer whose work is under way how far it is."""
    if job.active:
        runs = counted(job.answer.finished, "run")
        st.caption(f"So far, after {runs} of each; the work goes on, and this answer with it.")


def _so_far_table(job: Job, currency: str) -> None:
    """Show what a search has run so far, or had when it was stopped: rough means, and no verdict."""
    from sim.report.figures.comparison_figures import readable  # noqa: PLC0415  takes a second

    found: SoFar = job.answer
    caution()
    if job.active:
        st.caption(
            f"So far, after {counted(found.finished, 'run')}: means of few runs, and no verdict yet. The "
            "search goes on, and this table with it."
        )
    else:
        st.warning(f"Stopped after {counted(found.finished, 'run')}: means of few runs, and no verdict.")
    named = {
        "name": "tried", "runs": "runs", "cost": f"cost, {currency} a year",
        "days": "days below target a year", "water_off_h": "water-off hours a year",
    }  # fmt: skip
    st.dataframe(
        readable(found.table.rename(columns=named)), hide_index=True, key="table-so-far",
        alt=f"What was tried so far, cheapest first: {counted(len(found.table), 'row')}",
    )  # fmt: skip


def answered(
    question: Question[Any], noun: str, excuse: str, key: str = "", before: str = "", at_once: bool = False
) -> Job | None:
    """Return the job whose answer can be shown; else show how far it is, or the excuse and why."""
    table, name = frame.jobs(), key_of(question)
    unasked = not key or (at_once and st.session_state.get(frame.ARRIVED, False))
    if st.session_state.pop(f"asked-{key}", False) or (unasked and table.get(name) is None):
        if (before_it := st.session_state.get(f"last-{key}", name)) != name:
            table.cancel(before_it)  # nobody waits for it any more
        st.session_state[f"last-{key}"] = name
        frame.start(question)
        frame.tell_no_room()
    job = table.get(name)
    frame.follow(name, noun, None if job is None else job.handed_on)
    if job is None and before:
        st.caption(before)
    if job is None:
        return None
    if job.active:
        return job if job.partial is not None else None
    if job.result is None and job.state == "cancelled":
        st.warning("Stopped before any of it was finished.")
        return None
    if job.result is None:
        st.error(excuse)
        st.text(job.said)
        return None
    return job
