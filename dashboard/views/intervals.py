"""How long can it be stretched? A search over the intervals and thresholds of one way of looking after it."""

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from dashboard import asking, frame, keep, shared_inputs
from dashboard.jobs.job_table import Job
from dashboard.site import Site
from dashboard.words import answered, caption_caution, plain
from sim.errors import InputError
from sim.report.figures.style import PLOT
from sim.report.figures.tune_figures import dial_alt, dial_figure
from sim.study.tune.question import TuneAnswer, TuneQuestion
from sim.study.tune.settings_grid import dials
from sim.study.tune.tune import TuneStudy
from sim.study.tune.tune_tables import curve_frame, hard_frame
from sim.study.tune.tune_words import tune_sentences
from sim.units import Units

YEARS, RUNS = 2, 8
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


def _ask(site: Site) -> TuneQuestion | None:
    scenario = site.scenario
    names = [policy.name for policy in scenario.policies]
    name = st.selectbox("Way of looking after it", names, key="tuned", bind="query-params") or names[0]
    years, runs, seed = shared_inputs.runs_and_years(
        "How long, how many runs", YEARS, RUNS, 2, "Runs at the last look"
    )
    try:
        known = [dial.name for dial in dials(scenario, site.asked.policy(name), years)]
    except InputError as error:
        st.warning(plain(str(error)))
        return None
    only = st.multiselect(
        "What is turned (all when none is named)", known, key=f"only-{name}", bind="query-params"
    )
    left, right = st.columns(2)
    days = scenario.goals.limit_days_below_target
    limit = shared_inputs.number(left, "Limit, days below the dose target a year", 0.0, 366.0, days, "limit")
    worth = shared_inputs.worth(right, scenario.prices.currency)
    asking.button("Search", "go-tune")
    return TuneQuestion(
        site=site.asked, policy=name, years=years, replications=runs, seed=seed, worth=float(worth),
        limit_days=float(limit), only=tuple(only), units=frame.units(),
    )  # fmt: skip


def _show(site: Site, question: TuneQuestion, job: Job, first: DeltaGenerator) -> None:
    currency, units = site.scenario.prices.currency, frame.units()
    answer: TuneAnswer = job.answer
    study = answer.study
    with first:
        answered(tune_sentences(study, currency, units))
    _settings(study, units)
    _dials(study, currency, units)
    if study.hard:
        st.header("Where dust and films come as fast as in the upper tenth of houses")
        caption_caution()
        table = hard_frame(study, units)[list(HARD)].rename(columns=HARD).round(2)
        st.dataframe(table, hide_index=True, key="table-hard", alt=_hard_alt(study))
    keep.show(site, question, answer, study.rows)


def _settings(study: TuneStudy, units: Units) -> None:
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


def _dials(study: TuneStudy, currency: str, units: Units) -> None:
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


asking.page(
    "How long can it be stretched before it costs?", _ask, _show, "Runs of this round",
    "The search was not finished:", "go-tune",
)  # fmt: skip
