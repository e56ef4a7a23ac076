"""Which way of looking after this house? The policies of a site, compared."""

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from dashboard import asking, keep, plates, shared_inputs
from dashboard.jobs.job_table import Job
from dashboard.site import Site
from dashboard.words import answered, belonging, extrapolated, listed
from sim.study.compare.question import CompareAnswer, CompareQuestion
from sim.study.compare.sentences import LEAD
from sim.study.compare.ways import MONEY, way

YEARS, RUNS = 3, 0  # as many as it takes


def _ask(site: Site) -> CompareQuestion | None:
    names = [policy.name for policy in site.scenario.policies]
    chosen = st.multiselect(
        "Ways of looking after it; the others are compared with the first",
        names, names, key="policies", bind="query-params",
    )  # fmt: skip
    years, runs, seed = shared_inputs.runs_and_years(
        "How long, how many runs", YEARS, RUNS, 0, "Runs of each (0: until settled)"
    )
    left, right = st.columns(2)
    left.page_link("views/house.py", label="Change what this house is like", icon=":material/edit:")
    right.page_link("views/maintenance.py", label="Change how it is looked after", icon=":material/edit:")
    asking.button("Run the comparison", "go", disabled=not chosen)
    if not chosen:
        st.warning("Choose at least one way.")
        return None
    return CompareQuestion(
        site=site.asked, policies=tuple(chosen), years=years, replications=runs or None, seed=seed
    )


def _show(site: Site, question: CompareQuestion, job: Job, first: DeltaGenerator) -> None:
    from sim.report.figures.comparison_figures import comparison_plates  # noqa: PLC0415  takes a second

    answer: CompareAnswer = job.answer
    with first:
        asking.tightens(job)
        if job.state == "cancelled":
            st.warning(f"Stopped: {answer.finished} of {answer.wanted} runs were finished and are shown.")
        goals, currency = site.scenario.goals, site.scenario.prices.currency
        drawn = comparison_plates(answer.rows, answer.comparison, goals, currency)
        answered(answer.sentences[:LEAD], lead=LEAD)
        with st.expander("What these ways are"):
            chosen = [one for one in site.scenario.policies if one.name in question.policies]
            listed([*map(way, chosen), MONEY])
        plates.show(next(drawn))
        belonging(answer.sentences[LEAD:], answer.changes)
        extrapolated(answer.rows.get("extrapolated", ()))
    if job.active:
        return  # the rest is drawn once: each figure takes the workers' time
    for plate in drawn:
        plates.show(plate)
    keep.show(site, question, answer, answer.rows)
    st.caption(f"Answered in {job.took_s:.1f} s of work.")


asking.page(
    "Which way of looking after this house?", _ask, _show, "Replications", "The comparison was not made:",
    "go", "Every policy meets the same weather, draws, power cuts and part lives.", at_once=True,
)  # fmt: skip
