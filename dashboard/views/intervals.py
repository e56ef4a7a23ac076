"""How long can it be stretched? A search over the intervals and thresholds of one way of looking after it."""

import shlex

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from dashboard import frame, shared_inputs
from dashboard.jobs.job_table import key_of
from dashboard.jobs.search_worker import values
from dashboard.jobs.worker import Question
from dashboard.site import Site
from dashboard.words import answered, caption_caution, caution, named, plain
from sim.errors import InputError
from sim.report.figures.style import PLOT
from sim.report.figures.tune_figures import dial_alt, dial_figure
from sim.study.runs import store
from sim.study.tune.settings_grid import dials
from sim.study.tune.tune import TuneStudy
from sim.study.tune.tune_tables import curve_frame, hard_frame
from sim.study.tune.tune_words import tune_sentences

YEARS, RUNS, WORTH = 2, 8, 25.0
LEVELS = {  # column of the table, what people read
    "what": "what",
    "said": "at",
    "chosen": "advised",
    "flat": "in the flat part",
    "cost_less_choice": "cost less that advised",
    "days_below_target": "days below target a year",
}
HARD = {
    "name": "setting",
    "holds": "keeps within the limits",
    "days_below_target_hard": "days below target a year there",
    "cost": "cost a year in the house as it is",
}


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
            _show(site, question, job.result, first)
            return
        st.error("The search was not finished:")
        st.text(job.said or "It was stopped.")
    caution()


def _ask(site: Site) -> Question | None:
    scenario = site.scenario
    names = [policy.name for policy in scenario.policies]
    name = st.selectbox("Way of looking after it", names, key="tuned", bind="query-params") or names[0]
    years, runs, seed = shared_inputs.runs_and_years(
        "How long, how many runs", YEARS, RUNS, 2, "Runs at the last look"
    )
    policy = next(one for one in scenario.policies if one.name == name)
    try:
        known = [dial.name for dial in dials(scenario, policy, years)]
    except InputError as error:
        st.warning(plain(str(error)))
        return None
    only = st.multiselect(
        "What is turned (all when none is named)", known, key=f"only-{name}", bind="query-params"
    )
    left, right = st.columns(2)
    days = scenario.goals.limit_days_below_target
    limit = shared_inputs.number(left, "Limit, days below the dose target a year", 0.0, 366.0, days, "limit")
    money = named(scenario.prices.currency)
    worth = shared_inputs.number(
        right, f"Least difference that matters, {money} a year", 1.0, 10_000.0, WORTH, "worth"
    )
    st.button(
        "Search", type="primary", key="go-tune", on_click=lambda: st.session_state.update(asked_tune=True)
    )
    wanted = (
        ("worth", repr(float(worth))), ("limit", repr(float(limit))), *(("only", one) for one in only)
    )  # fmt: skip
    return Question("tune", scenario, site.digest, (name,), years, runs, seed, site.rain, asked=wanted)


def _show(site: Site, question: Question, study: TuneStudy, first: DeltaGenerator) -> None:
    currency, units = site.scenario.prices.currency, frame.units()
    with first:
        answered(tune_sentences(study, currency, units))
    _settings(study, units)
    _dials(study, currency, units)
    if study.hard:
        st.header("Where dust and films come as fast as in the upper tenth of houses")
        caption_caution()
        table = hard_frame(study, units)[list(HARD)].rename(columns=HARD).round(2)
        st.dataframe(table, hide_index=True, key="table-hard", alt=_hard_alt(study))
    _keep(site, question, study)


def _settings(study: TuneStudy, units: str) -> None:
    """Show the advised setting beside the one of now."""
    if study.chosen is None:
        return
    st.header("What is advised")
    dials = zip(study.found, study.chosen, strict=True)
    st.table(
        [
            {"what": dial.name, "now": dial.said(dial.own, units), "advised": dial.said(level, units)}
            for dial, level in dials
        ]
    )


def _dials(study: TuneStudy, currency: str, units: str) -> None:
    """Show cost and risk along one dial, and the table of all."""
    st.header("The flat part and the cliff")
    caption_caution()
    names = [curve.dial.name for curve in study.curves]
    at = st.selectbox("Along", range(len(names)), format_func=names.__getitem__)
    curve = study.curves[int(at or 0)]
    alt = dial_alt(curve, study, currency, units)
    st.plotly_chart(
        dial_figure(curve, study, currency, units), theme=None, config=PLOT, key="figure-dial", alt=alt
    )
    st.markdown(plain(alt))
    table = curve_frame(study, units)[list(LEVELS)].rename(columns=LEVELS).round(2)
    st.dataframe(table, hide_index=True, key="table-dials", alt=f"{len(table)} levels of {len(names)} dials")


def _hard_alt(study: TuneStudy) -> str:
    held = [line.name for line in study.hard if line.holds]
    return f"Settings that keep within the limits there: {', '.join(held) if held else 'none'}."


def _keep(site: Site, question: Question, study: TuneStudy) -> None:
    st.header("Keep it")
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
