"""How long can it be stretched? A search over the intervals and thresholds of one way of looking after it."""

import shlex

import streamlit as st

from dashboard import frame
from dashboard.jobs import key_of
from dashboard.look import PLOT
from dashboard.search_worker import values
from dashboard.site import Site
from dashboard.tune_figures import dial_alt, dial_figure
from dashboard.words import caution, plain
from dashboard.worker import Question
from sim.errors import InputError
from sim.study import store
from sim.study.caution import CAUTION
from sim.study.search.lattice import dials
from sim.study.search.tune import TuneStudy
from sim.study.search.tune_tables import curve_frame, hard_frame
from sim.study.search.tune_words import tune_answer

YEARS, RUNS, WORTH, SEED = 2, 8, 25.0, 1


def page() -> None:
    """Show the question, its progress and its answer."""
    st.title("How long can it be stretched before it costs?")
    site = frame.site()
    first = st.container()  # the answer, once there is one, stands above the question
    question = _ask(site)
    if question is None:
        caution()
        return
    key = frame.jobs().start(question) if st.session_state.pop("asked_tune", False) else key_of(question)
    frame.follow(key, "Runs of this round")
    job = frame.jobs().get(key)
    if job is not None and not job.active:
        if job.result is not None:
            with first:
                _show(site, question, job.result)
            return
        st.error("The search was not finished:")
        st.text(job.said or "It was stopped.")
    caution()


def _ask(site: Site) -> Question | None:
    scenario = site.scenario
    names = [policy.name for policy in scenario.policies]
    name = st.selectbox("Way of looking after it", names, key="tuned", bind="query-params") or names[0]
    left, middle, right = st.expander("How long, how many runs").columns(3)
    years = left.number_input("Years in a run", 1, 50, YEARS, key="years", bind="query-params")
    runs = middle.number_input("Runs at the last look", 2, 500, RUNS, key="runs", bind="query-params")
    seed = right.number_input("Seed of chance", 0, 2**31, SEED, key="seed", bind="query-params")
    policy = next(one for one in scenario.policies if one.name == name)
    try:
        known = [dial.name for dial in dials(scenario, policy, int(years))]
    except InputError as error:
        st.warning(plain(str(error)))
        return None
    only = st.multiselect("What is turned (all when none is named)", known, key=f"only-{name}")
    left, right = st.columns(2)
    limit = left.number_input(
        "Limit, days below the dose target a year",
        0.0,
        366.0,
        scenario.goals.limit_days_below_target,
        key="limit",
    )
    worth = right.number_input(
        "Least difference that matters, money a year", 1.0, 10_000.0, WORTH, key="worth", bind="query-params"
    )
    st.button(
        "Search", type="primary", key="go-tune", on_click=lambda: st.session_state.update(asked_tune=True)
    )
    asked = (
        ("worth", repr(float(worth))), ("limit", repr(float(limit))), *(("only", one) for one in only)
    )  # fmt: skip
    return Question(
        "tune", scenario, site.digest, (name,), int(years), int(runs), int(seed), site.rain, asked=asked
    )


def _show(site: Site, question: Question, study: TuneStudy) -> None:
    currency, units = site.scenario.prices.currency, frame.units()
    st.subheader("The answer")
    st.markdown(plain(tune_answer(study, currency, units).removesuffix(CAUTION).strip()))
    caution()
    names = [curve.dial.name for curve in study.curves]
    at = st.selectbox("The flat part and the cliff of", range(len(names)), format_func=names.__getitem__)
    curve = study.curves[int(at or 0)]
    alt = dial_alt(curve, study, currency, units)
    st.plotly_chart(
        dial_figure(curve, study, currency, units), theme=None, config=PLOT, key="figure-dial", alt=alt
    )
    st.markdown(plain(alt))
    table = curve_frame(study, units)
    shown = ["what", "said", "chosen", "flat", "cost_less_choice", "days_below_target"]
    st.dataframe(table[shown].round(2), hide_index=True, key="table-dials", alt=f"{len(table)} levels")
    if study.hard:
        st.subheader("Where dust and films come as fast as in the upper tenth of houses")
        st.dataframe(
            hard_frame(study, units).round(2), hide_index=True, key="table-hard", alt="Settings there"
        )
    st.subheader("Keep it")
    st.download_button(
        "Rows of every run (CSV)", store.csv_bytes(study.rows), "rows.csv", "text/csv", on_click="ignore",
        key="get-tune-rows",
    )  # fmt: skip
    words = ["cisterntwin", "tune", "site.toml", "--policy", question.policies[0]]
    words += ["--years", str(question.years), "--replications", str(question.replications)]
    words += ["--seed", str(question.seed), "--worth", f"{study.worth:g}"]
    words += ["--limit-days", f"{study.limits.days_below_target:g}"]
    words += ["--rain", "rain.csv"] if site.rain is not None else []
    words += [word for name in values(question, "only") for word in ("--only", name)]
    st.caption("The same on the command line, with the site and any rain file beside you:")
    st.code(shlex.join(words), language=None, wrap_lines=True)


page()
