"""Which way of looking after this house? The policies of a site, held against each other."""

import streamlit as st

from dashboard import frame
from dashboard.jobs import key_of
from dashboard.site import Site
from dashboard.words import caution
from dashboard.worker import Question

YEARS, RUNS, SEED = 3, 10, 1


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
    if "policies" in st.session_state:  # another house may lack some, and one may have been removed
        st.session_state["policies"] = [name for name in st.session_state["policies"] if name in names]
    chosen = st.multiselect(
        "Ways of looking after it; the others are held against the first",
        names, names, key="policies", bind="query-params",
    )  # fmt: skip
    left, middle, right = st.expander("How long, how many runs").columns(3)
    years = left.number_input("Years in a run", 1, 50, YEARS, key="years", bind="query-params")
    runs = middle.number_input("Runs of each", 1, 500, RUNS, key="runs", bind="query-params")
    seed = right.number_input("Seed of chance", 0, 2**31, SEED, key="seed", bind="query-params")
    left, right = st.columns(2)
    left.page_link("views/house.py", label="Change what this house is like", icon=":material/edit:")
    right.page_link("views/care.py", label="Change how it is looked after", icon=":material/edit:")
    st.button(
        "Run the comparison", type="primary", disabled=not chosen, key="go",
        on_click=lambda: st.session_state.update(asked=True),
    )  # fmt: skip
    if not chosen:
        st.warning("Choose at least one way.")
        return None
    return Question(
        "study", site.scenario, site.digest, tuple(chosen), int(years), int(runs), int(seed), site.rain
    )


page()
