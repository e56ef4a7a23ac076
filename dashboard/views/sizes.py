"""Which sizes for this house? A search over cartridges, UV unit, tank, pump and cistern."""

import shlex

import pandas as pd
import streamlit as st

from dashboard import frame
from dashboard.jobs import key_of
from dashboard.look import PLOT
from dashboard.search_worker import values
from dashboard.site import Site
from dashboard.size_figures import design_words, sizes_front, sizes_front_alt
from dashboard.words import caution, plain
from dashboard.worker import Question
from sim.errors import InputError
from sim.study import store
from sim.study.caution import CAUTION
from sim.study.search.alternatives import choices, gathered
from sim.study.search.sizes import SizeStudy
from sim.study.search.tables import rule_frame
from sim.study.search.words import mover_lines, size_answer, step_line

YEARS, RUNS, WORTH, SEED = 2, 8, 25.0, 1
TRIES = "stage.sediment.size=2.5x10,4.5x10,4.5x20\nuv.rated_flow=6 gpm,8 gpm"
SHOWN = {  # column of the table, what people read
    "design": "design",
    "policy": "policy",
    "fate": "standing",
    "cost": "cost a year",
    "days_below_target": "days below the dose target",
    "cartridge_days": "cartridge life, days",
    "short_runs": "pump runs under a minute",
    "cistern_empty_days": "dry days",
    "runs": "runs",
}


def page() -> None:
    """Show the question, its progress and its answer."""
    st.title("Which sizes for this house?")
    site = frame.site()
    first = st.container()  # the answer, once there is one, stands above the question
    question = _ask(site)
    if question is None:
        caution()
        return
    key = frame.jobs().start(question) if st.session_state.pop("asked_sizes", False) else key_of(question)
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
    stated = "\n".join(f"{one.key}={','.join(map(str, one.values))}" for one in site.scenario.alternatives)
    names = [policy.name for policy in site.scenario.policies]
    text = st.text_area(
        "What to choose between, one a line: key of the site's file = values", stated or TRIES,
        key="tries", bind="query-params",
    )  # fmt: skip
    if "size_policies" in st.session_state:
        st.session_state["size_policies"] = [n for n in st.session_state["size_policies"] if n in names]
    chosen = st.multiselect(
        "Looked after", names, names[1:2] or names, key="size_policies", bind="query-params"
    )
    worth = st.number_input(
        "Least difference that matters, money a year", 1.0, 10_000.0, WORTH, key="worth", bind="query-params"
    )
    left, middle, right = st.expander("How long, how many runs").columns(3)
    years = left.number_input("Years in a run", 1, 50, YEARS, key="years", bind="query-params")
    runs = middle.number_input("Runs at the last look", 2, 500, RUNS, key="runs", bind="query-params")
    seed = right.number_input("Seed of chance", 0, 2**31, SEED, key="seed", bind="query-params")
    tries = [line for line in (text or "").splitlines() if line.strip()]
    try:
        made = choices(site.scenario, gathered(site.scenario, tries), chosen)
    except InputError as error:
        st.error("This cannot be tried:")
        st.text(str(error))
        return None
    st.caption(f"{len(made)} designs, each looked after in {len(chosen)} ways; most are screened out early.")
    st.button(
        "Search", type="primary", disabled=not chosen, key="go-sizes",
        on_click=lambda: st.session_state.update(asked_sizes=True),
    )  # fmt: skip
    if not chosen:
        return None
    asked = (("worth", repr(float(worth))), *(("try", line.strip()) for line in tries))
    return Question(
        "size", site.scenario, site.digest, tuple(chosen), int(years), int(runs), int(seed), site.rain,
        frame.units(), asked=asked,
    )  # fmt: skip


def _show(site: Site, question: Question, study: SizeStudy) -> None:
    currency = site.scenario.prices.currency
    st.subheader("The answer")
    st.markdown(plain(size_answer(study, currency).removesuffix(CAUTION).strip()))
    caution()
    st.subheader("Cost against days below the dose target")
    st.caption("Click on a mark to read the design in words.")
    event = st.plotly_chart(
        sizes_front(study, currency), theme=None, config=PLOT, key="figure-sizes", on_select="rerun",
        selection_mode="points", alt=sizes_front_alt(study, currency),
    )  # fmt: skip
    names = [f"{line['design']} ({line['policy']})" for _, line in study.lines.iterrows()]
    at = st.selectbox("Design", range(len(names)), _clicked(event, len(names)), format_func=names.__getitem__)
    st.markdown(plain(design_words(study, int(at or 0), currency)))
    table = study.lines[list(SHOWN)].rename(columns=SHOWN).round(2)
    st.dataframe(table, hide_index=True, key="table-sizes", alt=f"{len(table)} designs")
    _listed("What each step up buys", [step_line(step, currency, frame.units()) for step in study.steps])
    st.subheader("Rules of thumb beside it")
    st.table(rule_frame(study.rules).rename(columns={"runs_showed": "the runs showed"}))
    _listed("What moves the difference to the next", mover_lines(study.movers, currency))
    _keep(site, question, study.rows)


def _clicked(event: object, count: int) -> int:
    """Return the row of the mark that was clicked on, the choice when none was."""
    selection = getattr(event, "selection", None) or {}
    for point in selection.get("points", []):
        at = point.get("customdata")
        at = at[0] if isinstance(at, list) and at else at
        if isinstance(at, int) and 0 <= at < count:
            return at
    return 0


def _listed(title: str, lines: list[str]) -> None:
    if lines:
        st.subheader(title)
        st.markdown("\n".join(f"- {plain(line)}" for line in lines))


def _keep(site: Site, question: Question, rows: pd.DataFrame) -> None:
    st.subheader("Keep it")
    st.download_button(
        "Rows of every run (CSV)", store.csv_bytes(rows), "rows.csv", "text/csv", on_click="ignore",
        key="get-size-rows",
    )  # fmt: skip
    words = ["cisterntwin", "size", "site.toml", "--years", str(question.years)]
    words += ["--replications", str(question.replications), "--seed", str(question.seed)]
    words += ["--worth", f"{float(values(question, 'worth')[0]):g}"]
    words += ["--rain", "rain.csv"] if site.rain is not None else []
    words += [word for name in question.policies for word in ("--policy", name)]
    words += [word for line in values(question, "try") for word in ("--try", line)]
    st.caption("The same on the command line, with the site and any rain file beside you:")
    st.code(shlex.join(words), language=None, wrap_lines=True)


page()
