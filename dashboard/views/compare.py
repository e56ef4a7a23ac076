"""Which way of looking after this house? The policies of a site, held against each other."""

import streamlit as st

from dashboard import frame, shared_inputs
from dashboard.jobs.job_table import key_of
from dashboard.jobs.worker import Question
from dashboard.site import Site
from dashboard.words import caution

YEARS, RUNS = 3, 10


def page() -> None:
    """Show the question, its progress and its answer."""
    st.title("Which way of looking after this house?")
    site = frame.site()
    first = st.container()  # the answer, once there is one, stands above the question
    question = _ask(site)
    if question is None:
        caution()
        return
    key = frame.jobs().start(question) if st.session_state.pop("asked", False) else key_of(question)
    frame.follow(key, "Replications")
    job = frame.jobs().get(key)
    if job is None:
        st.caption("Every policy meets the same weather, draws, power cuts and part lives.")
    elif job.state == "failed":
        st.error("The comparison was not made:")
        st.text(job.said)
    elif not job.active:
        from dashboard import answered  # noqa: PLC0415  its figures take a second to load

        answered.show(site, question, key, job, first)
        return
    caution()


def _ask(site: Site) -> Question | None:
    names = [policy.name for policy in site.scenario.policies]
    chosen = st.multiselect(
        "Ways of looking after it; the others are held against the first",
        names, names, key="policies", bind="query-params",
    )  # fmt: skip
    years, runs, seed = shared_inputs.runs_and_years(
        "How long, how many runs", YEARS, RUNS, 1, "Runs of each"
    )
    left, right = st.columns(2)
    left.page_link("views/house.py", label="Change what this house is like", icon=":material/edit:")
    right.page_link("views/maintenance.py", label="Change how it is looked after", icon=":material/edit:")
    st.button(
        "Run the comparison", type="primary", disabled=not chosen, key="go",
        on_click=lambda: st.session_state.update(asked=True),
    )  # fmt: skip
    if not chosen:
        st.warning("Choose at least one way.")
        return None
    return Question("study", site.scenario, site.digest, tuple(chosen), years, runs, seed, site.rain)


page()
