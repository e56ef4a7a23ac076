"""Which way of looking after this house? The policies of a site, held against each other."""

import shlex

import pandas as pd
import streamlit as st

from dashboard import figures, frame
from dashboard.jobs import Job, key_of
from dashboard.site import Site
from dashboard.words import caution, extrapolated, plain
from dashboard.worker import Question
from sim.study import store
from sim.study.answer import CAUTION, answer, from_to, plus_minus, what_would_change_this
from sim.study.comparison import Comparison, compare_by_goals

YEARS, RUNS, SEED = 3, 10, 1
PLOT = {"displaylogo": False, "plotlyServerURL": ""}


def page() -> None:
    """Show the question, its progress and its answer."""
    st.title("Which way of looking after this house?")
    site = frame.site()
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
        _show(site, question, job)
        return
    caution()


def _ask(site: Site) -> Question | None:
    names = [policy.name for policy in site.scenario.policies]
    chosen = st.multiselect(
        "Ways of looking after it; the others are held against the first",
        names, names, key="policies", bind="query-params",
    )  # fmt: skip
    left, middle, right = st.expander("How long, how many runs").columns(3)
    years = left.number_input("Years in a run", 1, 50, YEARS, key="years", bind="query-params")
    runs = middle.number_input("Runs of each", 1, 500, RUNS, key="runs", bind="query-params")
    seed = right.number_input("Seed of chance", 0, 2**31, SEED, key="seed", bind="query-params")
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


def _show(site: Site, question: Question, job: Job) -> None:
    rows: pd.DataFrame = job.result.rows if job.result is not None else pd.DataFrame()
    if rows.empty:
        st.warning("Stopped before a run was finished. Press the button to begin again.")
        caution()
        return
    if job.state == "cancelled":
        st.warning(f"Stopped: {job.result.finished} of {job.result.wanted} runs were finished and are shown.")
    scenario = site.scenario
    currency = scenario.prices.currency
    found = compare_by_goals(rows, question.policies[0], scenario.goals)
    said = answer(found, currency, question.replications)
    st.subheader("The answer")
    st.markdown(plain(said.removesuffix(CAUTION).strip()))
    caution()
    extrapolated(rows.get("extrapolated", ()))
    _changes(found, currency)
    st.subheader("Days below the dose target a year")
    st.plotly_chart(
        figures.narrowed(figures.days_below_target(found), question.policies),
        theme=None, config=PLOT, key="figure-days",
        alt=figures.days_below_target_alt(found),
    )  # fmt: skip
    st.dataframe(_days_table(found), hide_index=True, key="table-days", alt="Days below the dose target")
    st.subheader("What it costs a year")
    st.plotly_chart(
        figures.narrowed(figures.cost_stack(rows, currency), question.policies),
        theme=None, config=PLOT, key="figure-cost",
        alt=figures.cost_stack_alt(rows, currency),
    )  # fmt: skip
    costs = figures.cost_means(rows).round().astype(int).reset_index()
    st.dataframe(costs, hide_index=True, key="table-cost", alt=f"Mean cost by item, {currency} a year")
    st.subheader("Cost against days below the dose target")
    st.plotly_chart(
        figures.front(found, currency), theme=None, config=PLOT, key="figure-front",
        alt=f"No other way is better in both cost and days: {', '.join(figures.unbeaten(found))}.",
    )  # fmt: skip
    st.caption("The dotted line is the limit; the numbers stand in the first table.")
    _keep(site, question, job, rows)


def _changes(found: Comparison, currency: str) -> None:
    lines = what_would_change_this(found, currency)
    if lines:
        st.markdown("**What would change this**\n\n" + "\n".join(f"- {plain(line)}" for line in lines))


def _days_table(found: Comparison) -> pd.DataFrame:
    return pd.DataFrame(
        [
            {
                "policy": item.policy,
                "days below the dose target": from_to(item.days_below_target),
                "runs with any": f"{item.runs_with_days} of {item.runs}",
                "water-off hours": from_to(item.water_off_h),
                "unsafe-water hours": from_to(item.unsafe_water_h),
                "cost": plus_minus(item.cost),
                "standing": item.why,
            }
            for item in found.summaries
        ]
    )


def _keep(site: Site, question: Question, job: Job, rows: pd.DataFrame) -> None:
    st.subheader("Keep it")
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


page()
