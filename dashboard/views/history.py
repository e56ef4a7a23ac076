"""What happens in this house, day by day? One run of one policy: its months, then a day of it.

Handed over hidden, its diary stays on this server: only what gauges, monitor, taps and pump show is sent.
"""

import datetime
from typing import Any

import pandas as pd
import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from dashboard import asking, frame, handed, keep, plates, shared_inputs, steps
from dashboard.jobs.job_table import Job
from dashboard.site import Site
from dashboard.words import caution, extrapolated, plain
from sim.errors import InputError
from sim.report.figures import train_boxes
from sim.report.figures.comparison_figures import Plate
from sim.report.figures.day_figure import close_alt, close_figure
from sim.report.figures.day_moment import DAY_S, moment, of_day
from sim.report.figures.run_figure import gauges_alt, gauges_figure, history_alt, history_figure
from sim.report.figures.skip_boxes import skip_boxes
from sim.report.figures.style import PLOT
from sim.report.html.comparison_report import by_month
from sim.study.close_up.question import CLOSE_DAYS, CloseUpQuestion
from sim.study.dates import spelled
from sim.study.one_run.question import RunAnswer, RunQuestion
from sim.study.wording import named, number
from sim.units import SHOWN, ShownKind, Units, from_si

STEP_S = 10  # of the time of day
NOTHING = "There is nothing to show."
PAGE = "views/history.py"
FIRST = {"years": 2, "run": 0, "seed": 1}
ASKED = ("policy", *FIRST)  # what is asked, by its key on the page and in the address
HIDDEN = "hidden"  # in an address: what it asks is handed over hidden
HIDDEN_DAY = "hidden-day"  # of the slider: a reveal puts it into the address, where the other slider finds it
WEEK = 7


def _show(site: Site, question: RunQuestion, job: Job, first: DeltaGenerator) -> None:
    """Show one run: the months, then the train and the hours of a day."""
    del first
    if handed.stands():
        _hidden(site, job.result)
        return
    _months(site, question, job.result)
    frame.redrawn(_day, site, question, job.result)


def _ask(site: Site) -> RunQuestion | None:
    """Draw the question; of one that is handed over hidden nothing is drawn, so that nothing is sent."""
    if HIDDEN in st.query_params:
        handed.over(_by_address(site))
        del st.query_params[HIDDEN]
    if handed.stands():
        return _taken(site)
    names = [policy.name for policy in site.scenario.policies]
    policy = st.selectbox("Way of looking after it", names, key="policy", bind="query-params")
    left, middle, right = st.expander("Which run").columns(3)
    years = shared_inputs.number(left, "Years in a run", 1, shared_inputs.MOST_YEARS, FIRST["years"], "years")
    run = shared_inputs.number(middle, "Run number", 0, shared_inputs.MOST_RUNS - 1, FIRST["run"], "run")
    values = dict(zip(ASKED, (policy or names[0], years, run, shared_inputs.seed(right)), strict=True))
    st.button(
        "Hand over hidden", key="hand-over", on_click=handed.over, args=(values,),
        help="The page then shows only what a person can see, and no diary of what was done and why. Its "
        "address can be given to a class: it works as long as this server runs.",
    )  # fmt: skip
    return _question(site, values)


def _by_address(site: Site) -> dict[str, Any]:
    """Return what an address asks, as the page would read it; what it cannot take is as at first."""
    names = [policy.name for policy in site.scenario.policies]
    said, texts = st.query_params.get("policy"), {key: st.query_params.get(key, "") for key in FIRST}
    numbers = {key: int(text) if text.isdecimal() else FIRST[key] for key, text in texts.items()}
    return {"policy": said if said in names else names[0], **numbers}


def _question(site: Site, values: dict[str, Any]) -> RunQuestion:
    return RunQuestion(
        site=site.asked, policy=values["policy"], years=values["years"], replication=values["run"],
        seed=values["seed"], tables=("days", "events"),
    )  # fmt: skip


def _taken(site: Site) -> RunQuestion | None:
    values = handed.taken(*ASKED)
    try:
        if values is None:
            raise InputError(handed.LOST)
        question = _question(site, values)
        question.check()
    except InputError:  # whose words would name the policy
        st.warning(handed.LOST if values is None else "What was handed over is for another house.")
        if st.button("Ask anew", key="ask-anew"):
            handed.back(PAGE, {})
        return None
    if st.button("Reveal the diary", key="reveal"):
        handed.back(PAGE, {**values, "day": st.session_state.get(HIDDEN_DAY, 0)})
    return question


def _hidden(site: Site, answer: RunAnswer) -> None:
    """Show what a person can see, and nothing of what was done, of why, or of the dose."""
    days = answer.tables["days"]
    with st.container(key="lead"):
        st.markdown("Go through the days of this house by its gauges: what was done, and what went wrong?")
    caution()
    units, stages = frame.units(), [stage.name for stage in site.scenario.stages]
    table = by_month(days, units)
    plates.show(
        Plate(
            "gauges", "What the gauges showed", gauges_alt(days),
            gauges_figure(days, stages, units, site.scenario.uv.alarm),
            table[[name for name in table if "dose" not in str(name)]],
            "The table holds the least of each month; water off is its sum.",
        )
    )  # fmt: skip
    frame.redrawn(_gauges_of_a_day, site, days)


def _gauges_of_a_day(site: Site, days: pd.DataFrame) -> None:
    st.header("A day of it")
    last = len(days) - 1
    number = int(st.slider("Day of the run", 0, last, key=HIDDEN_DAY))
    steps.left(HIDDEN_DAY, number)
    with st.container(horizontal=True, vertical_alignment="center"):
        st.button("Week before", key="week-before", disabled=number < WEEK, on_click=steps.press,
                  args=(HIDDEN_DAY, steps.by(-WEEK, 0, last)))  # fmt: skip
        st.button("Next week", key="week-next", disabled=number > last - WEEK, on_click=steps.press,
                  args=(HIDDEN_DAY, steps.by(WEEK, 0, last)))  # fmt: skip
        st.markdown(f"**{spelled(days['date'].iloc[number])}**, day {number}", width="content")
    day = days.iloc[number]
    st.html(train_boxes.train_html(skip_boxes(site.scenario, day, day, frame.units(), revealed=False)))


def _months(site: Site, question: RunQuestion, answer: RunAnswer) -> None:
    days, events, row = answer.tables["days"], answer.tables["events"], answer.row
    low, off, cost = (number(float(row[name])) for name in ("days_below_target", "water_off_h", "cost"))
    caution()
    with st.container(key="lead"):
        st.markdown(
            f"This run of {plain(named(question.policy))} has {low} days below the dose target and "
            f"{off} water-off hours a year, and costs {cost} {plain(site.scenario.prices.currency)} a year."
        )
    st.markdown("One run shows what can happen, not how often.")
    extrapolated([row["extrapolated"]])
    uv, stages = site.scenario.uv, [stage.name for stage in site.scenario.stages]
    plates.show(
        Plate(
            "months",
            "Months at a glance",
            history_alt(days, events, question.policy, uv.target_j_m2),
            history_figure(days, events, stages, frame.units(), uv.target_j_m2, uv.alarm),
            by_month(days, frame.units()),
            "The least of each month; water off is its sum.",
        )
    )


def _day(site: Site, question: RunQuestion, answer: RunAnswer) -> None:
    """Show a day; a fragment, so that a move of a slider draws nothing else anew."""
    st.header("A day in detail")
    days, events = answer.tables["days"], answer.tables["events"]
    number = _pick_day(days, events)
    closer = CloseUpQuestion(
        site=site.asked, policy=question.policy, years=question.years, seed=question.seed,
        replication=question.replication, first_day=number - number % CLOSE_DAYS,
    )  # fmt: skip
    job = asking.answered(closer, "The steps of these days", NOTHING)
    if job is None:
        return
    of_it = of_day(job.result.tables, number)
    at_s = _pick_time(of_it["draws"], number)
    now = moment(of_it, at_s)
    units, target = frame.units(), site.scenario.uv.target_j_m2
    caution()
    st.html(train_boxes.train_html(train_boxes.boxes(site.scenario, days.iloc[number], now, units)))
    date = days["date"].iloc[number]
    st.plotly_chart(
        close_figure(of_it, date, units, target, now), theme=None, config=PLOT, key="figure-day",
        alt=close_alt(of_it, spelled(date), units, target),
    )  # fmt: skip
    _tables(of_it, units)


def _pick_day(days: pd.DataFrame, events: pd.DataFrame) -> int:
    last = len(days) - 1
    number = int(st.slider("Day of the run", 0, last, key="day", bind="query-params"))
    marked = sorted({int(day) for day in events["time_s"] // DAY_S if 0 <= day <= last}) or [number]
    steps.left("day", number)
    with st.container(horizontal=True, vertical_alignment="center"):
        st.button("Event before", key="before", disabled=number <= marked[0], on_click=steps.press,
                  args=("day", steps.mark(marked, onward=False)))  # fmt: skip
        st.button("Next event", key="next", disabled=number >= marked[-1], on_click=steps.press,
                  args=("day", steps.mark(marked, onward=True)))  # fmt: skip
        st.markdown(f"**{spelled(days['date'].iloc[number])}**, day {number}", width="content")
    return number


def _pick_time(draws: pd.DataFrame, number: int) -> float:
    """Ask for the time of day; return the time of the run."""
    midnight_s = number * DAY_S
    inside = [_clock(start_s - midnight_s) for start_s in draws["start_s"] if start_s >= midnight_s]
    chosen = st.slider(
        "Time of day", datetime.time(0), datetime.time(23, 59, 50), datetime.time(7), key="time",
        step=datetime.timedelta(seconds=STEP_S), format="HH:mm:ss", bind="query-params",
    )  # fmt: skip
    steps.left("time", chosen)
    with st.container(horizontal=True, vertical_alignment="center"):
        st.button("Draw before", key="draw-before", disabled=chosen <= min(inside, default=chosen),
                  on_click=steps.press, args=("time", steps.mark(inside, onward=False)))  # fmt: skip
        st.button("Next draw", key="draw-next", disabled=chosen >= max(inside, default=chosen),
                  on_click=steps.press, args=("time", steps.mark(inside, onward=True)))  # fmt: skip
        st.markdown(f"The train at **{chosen:%H:%M:%S}**", width="content")
    return midnight_s + chosen.hour * 3600.0 + chosen.minute * 60.0 + chosen.second


def _clock(seconds: float) -> datetime.time:
    """Return the next time the slider knows, for draws last longer than its step."""
    whole = min(int(-(-seconds // STEP_S)) * STEP_S, int(DAY_S) - STEP_S)
    return datetime.time(whole // 3600, whole // 60 % 60, whole % 60)


def _tables(day: dict[str, pd.DataFrame], units: Units) -> None:
    events = day["events"]
    if events.empty:
        st.caption("No event on this day.")
    else:
        shown = events[["time", "kind", "subject", "note", "cost"]].copy()
        shown["time"] = shown["time"].dt.strftime("%H:%M")
        st.dataframe(shown, hide_index=True, key="table-events", alt=f"{len(shown)} events of the day")
    draws = day["draws"]
    st.dataframe(_draws_shown(draws, units), hide_index=True, key="table-draws", alt=f"{len(draws)} draws")
    with st.container(horizontal=True):
        for name, table in (("draws", draws), ("steps", day["trace"]), ("events", events)):
            keep.table_download(f"{name.capitalize()} of this day (CSV)", table, name, **keep.SMALL)


def _draws_shown(draws: pd.DataFrame, units: Units) -> pd.DataFrame:
    shown = pd.DataFrame({"time": draws["time"].dt.strftime("%H:%M:%S"), "use": draws["use"]})
    columns: tuple[tuple[str, str, ShownKind], ...] = (
        ("volume", "volume_m3", "volume"),
        ("mean flow", "flow_m3_s", "flow"),
        ("least tap pressure", "tap_pressure_min_pa", "pressure"),
        ("least dose", "dose_min_j_m2", "dose"),
    )
    for label, column, kind in columns:
        unit = SHOWN[units][kind]
        decimals = max(unit.decimals, 1)
        shown[f"{label}, {unit.unit}"] = (draws[column] * from_si(1.0, unit.unit, kind)).round(decimals)
    shown["seconds"] = draws["seconds"].round(0)
    shown["unmet"] = draws["unmet"].map({True: "yes", False: ""})
    return shown


asking.page("What happens in this house, day by day?", _ask, _show, "The run", NOTHING)
