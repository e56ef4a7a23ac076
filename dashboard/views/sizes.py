"""Which sizes for this house? A search over cartridges, UV unit, tank, pump and cistern."""

from collections.abc import Sequence

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from dashboard import asking, frame, keep, shared_inputs
from dashboard.change.size_editor import ask as tries_ask
from dashboard.jobs.job_table import Job
from dashboard.site import Site
from dashboard.words import answered, caption_caution, listed, plain
from sim.errors import InputError
from sim.report.figures.size_figures import design_words, sizes_front, sizes_front_alt
from sim.report.figures.style import PLOT
from sim.study.search.search_tables import rule_frame
from sim.study.size.question import SizeAnswer, SizeQuestion, tap_limit_pa
from sim.study.size.size_words import mover_lines, step_lines
from sim.study.size.sizes import SizeStudy
from sim.study.tune.settings_grid import dials
from sim.study.wording import counted
from sim.units import SHOWN as UNIT_OF
from sim.units import from_si

YEARS, RUNS = 2, 8
TRIES_HELP = (
    "For instance pressure_tank.volume = 44 gal, 86 gal; pump.best_flow = 8 gpm, 12 gpm; "
    "cistern.capacity = 5000 gal, 10000 gal; stage.carbon.housings = 1, 2; cartridges by their nominal size "
    "in inches. Every combination is a design."
)
TRIES = "stage.sediment.size=2.5x10,4.5x10,4.5x20\nuv.rated_flow=6 gpm,8 gpm"
SHOWN = {  # column of the table, what people read
    "design": "design",
    "policy": "policy",
    "fate": "standing",
    "cost": "cost a year",
    "days_below_target": "days below target",
    "cartridge_days": "cartridge life, days",
    "short_runs": "pump runs under a minute",
    "cistern_empty_days": "dry days",
    "runs": "runs",
}


def _ask(site: Site) -> SizeQuestion | None:
    stated = "\n".join(f"{one.key}={','.join(map(str, one.values))}" for one in site.scenario.alternatives)
    names = [policy.name for policy in site.scenario.policies]
    text = st.text_area(
        "What to choose between, one a line: key of the site's file = values", stated or TRIES,
        key="tries", bind="query-params", help=TRIES_HELP,
    )  # fmt: skip
    tries_ask(site.scenario)
    chosen = st.multiselect(
        "Looked after", names, names[1:2] or names, key="size_policies", bind="query-params"
    )
    worth = shared_inputs.worth(st.container(), site.scenario.prices.currency)
    years, runs, seed = shared_inputs.runs_and_years(
        "How long, how many runs", YEARS, RUNS, 2, "Runs at the last look"
    )
    tap, turned = _further(site, chosen, years)
    tries = tuple(line.strip() for line in (text or "").splitlines() if line.strip())
    try:
        question = SizeQuestion(
            site=site.asked, policies=tuple(chosen), tries=tries, years=years, replications=runs, seed=seed,
            worth=float(worth), units=frame.units(), limit_tap_pa=tap_limit_pa(tap), intervals=tuple(turned),
        )  # fmt: skip
        question.check_tap()
        made = question.designs()
    except InputError as error:
        st.error("This cannot be tried:")
        st.text(str(error))
        return None
    ways = counted(len(made[0].design.policies), "way")
    st.caption(f"{counted(len(made), 'design')}, each looked after in {ways}; most are screened out early.")
    asking.button("Search", "go-sizes", disabled=not chosen)
    return question if chosen else None


def _further(site: Site, chosen: Sequence[str], years: int) -> tuple[str | None, list[str]]:
    """Ask for the least pressure at the tap, and which intervals are chosen with the sizes."""
    with st.expander("Pressure at the tap, intervals chosen together"):
        tap = st.text_input(
            "Least pressure at the tap in 19 of 20 draws, with its unit; no limit when empty",
            placeholder="20 psi" if frame.units() == "us" else "138 kPa", key="limit_tap",
            bind="query-params", max_chars=20,
        )  # fmt: skip
        turned = st.multiselect(
            "Intervals to choose with each design", _common(site, chosen, years), key="with_intervals",
            bind="query-params",
            help="So that a large cartridge is not changed as often as a small one. Every design is tried at "
            "every level of each, so two are many.",
        )  # fmt: skip
    return (tap or "").strip() or None, turned


def _common(site: Site, chosen: Sequence[str], years: int) -> list[str]:
    """Return the intervals and thresholds that all of the chosen policies have, in the order of the first."""
    try:
        names = [
            [dial.name for dial in dials(site.scenario, site.asked.policy(name), years)] for name in chosen
        ]
    except InputError:  # one of them has none
        return []
    return [one for one in names[0] if all(one in other for other in names)] if names else []


def _show(site: Site, question: SizeQuestion, job: Job, first: DeltaGenerator) -> None:
    currency = site.scenario.prices.currency
    answer: SizeAnswer = job.answer
    study = answer.study
    with first:
        answered(answer.sentences, mover_lines(study.movers, currency))
    _front(study, currency, with_tap=question.limit_tap_pa is not None)
    st.header("What each step up buys")
    listed(step_lines(study, currency, frame.units()))
    st.header("Rules of thumb beside it")
    st.table(rule_frame(study.rules).rename(columns={"runs_showed": "the runs showed"}))
    keep.show(site, question, answer, study.rows)


def _front(study: SizeStudy, currency: str, with_tap: bool) -> None:
    """Show every design as a mark, and the one that was chosen on it in words."""
    st.header("Cost against days below the dose target")
    st.caption("Choose a mark, or a name from the list under it, to read the design in words.")
    caption_caution()
    event = st.plotly_chart(
        sizes_front(study, currency), theme=None, config=PLOT, key="figure-sizes", on_select="rerun",
        selection_mode="points", alt=sizes_front_alt(study, currency),
    )  # fmt: skip
    names = [f"{line['design']} ({line['policy']})" for _, line in study.lines.iterrows()]
    at = st.selectbox("Design", range(len(names)), _clicked(event, len(names)), format_func=names.__getitem__)
    st.markdown(plain(design_words(study, int(at or 0), currency)))
    shown = dict(SHOWN)
    if study.lines["policy"].nunique() == 1:  # the same in every row
        del shown["policy"]
    table = study.lines[list(shown)].rename(columns=shown | {"cost": f"cost, {currency} a year"})
    if with_tap:
        unit = UNIT_OF[frame.units()]["pressure"].unit
        heading = f"pressure of 19 of 20 draws, {unit}"
        table[heading] = [from_si(one, unit, "pressure") for one in study.lines["tap_p5_pa"]]
    table = table.round(2)
    st.dataframe(
        table, hide_index=True, key="table-sizes", alt=f"{len(table)} designs, the choice first: {names[0]}"
    )


def _clicked(event: object, count: int) -> int:
    """Return the row of the mark that was clicked on, the choice when none was."""
    selection = getattr(event, "selection", None) or {}
    for point in selection.get("points", []):
        at = point.get("customdata")
        at = at[0] if isinstance(at, list) and at else at
        if isinstance(at, int) and 0 <= at < count:
            return at
    return 0


asking.page(
    "Which sizes for this house?",
    _ask,
    _show,
    "Runs of this round",
    "The search was not finished:",
    "go-sizes",
)
