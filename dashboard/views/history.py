"""What happens in this house, day by day? One run of one policy: its months, then a day of it."""

import datetime
from typing import Any

import pandas as pd
import streamlit as st

from dashboard import asking, frame, keep, plates, shared_inputs
from dashboard.site import Site
from dashboard.words import caution, extrapolated, plain
from sim.report.figures import train_boxes
from sim.report.figures.comparison_figures import Plate
from sim.report.figures.day_figure import close_alt, close_figure
from sim.report.figures.day_moment import DAY_S, moment, of_day
from sim.report.figures.run_figure import history_alt, history_figure
from sim.report.figures.style import PLOT
from sim.report.html.comparison_report import by_month
from sim.study.close_up.question import CLOSE_DAYS, CloseUpQuestion
from sim.study.compare.sentences import named, three_digits
from sim.study.one_run.question import RunAnswer, RunQuestion
from sim.units import SHOWN, from_si

STEP_S = 10  # of the time of day
NOTHING = "There is nothing to show."


def page() -> None:
    """Show one run: the months, then the train and the hours of a day."""
    st.title("What happens in this house, day by day?")
    site = frame.site()
    question = _ask(site)
    job = asking.answered(question, "The run", NOTHING)
    if job is None:
        caution()
        return
    _months(site, question, job.result)
    _day(site, question, job.result)


def _ask(site: Site) -> RunQuestion:
    names = [policy.name for policy in site.scenario.policies]
    policy = st.selectbox("Way of looking after it", names, key="policy", bind="query-params")
    left, middle, right = st.expander("Which run").columns(3)
    years = shared_inputs.number(left, "Years in a run", 1, shared_inputs.MOST_YEARS, 2, "years")
    run = shared_inputs.number(middle, "Run number", 0, shared_inputs.MOST_RUNS - 1, 0, "run")
    return RunQuestion(
        site=site.asked, policy=policy or names[0], years=years, replication=run,
        seed=shared_inputs.seed(right), tables=("days", "events"),
    )  # fmt: skip


def _months(site: Site, question: RunQuestion, answer: RunAnswer) -> None:
    days, events, row = answer.tables["days"], answer.tables["events"], answer.row
    low, off, cost = (_short(float(row[name])) for name in ("days_below_target", "water_off_h", "cost"))
    with st.container(key="lead"):
        st.markdown(
            f"This run of {plain(named(question.policy))} has {low} days below the dose target and "
            f"{off} water-off hours a year, and costs {cost} {plain(site.scenario.prices.currency)} a year."
        )
    st.markdown("One run shows what can happen, not how often.")
    caution()
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


def _short(number: float) -> str:
    said = three_digits(number)
    return said.rstrip("0").rstrip(".") if "." in said else said


@st.fragment
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
    st.html(train_boxes.train_html(train_boxes.boxes(site.scenario, days.iloc[number], now, units)))
    caution()
    date = days["date"].iloc[number]
    st.plotly_chart(
        close_figure(of_it, date, units, target, now), theme=None, config=PLOT, key="figure-day",
        alt=close_alt(of_it, f"{date:%d %B %Y}", units, target),
    )  # fmt: skip
    _tables(of_it, units)


def _pick_day(days: pd.DataFrame, events: pd.DataFrame) -> int:
    last = len(days) - 1
    marked = sorted({int(day) for day in events["time_s"] // DAY_S if 0 <= day <= last})
    now = min(int(st.session_state.get("day", 0)), last)
    before = [day for day in marked if day < now]
    after = [day for day in marked if day > now]
    number = int(st.slider("Day of the run", 0, last, key="day", bind="query-params"))
    with st.container(horizontal=True, vertical_alignment="center"):
        st.button("Event before", key="before", disabled=not before, on_click=_go, args=("day", before[-1:]))
        st.button("Next event", key="next", disabled=not after, on_click=_go, args=("day", after[:1]))
        st.markdown(f"**{days['date'].iloc[number]:%d %B %Y}**, day {number}", width="content")
    return number


def _pick_time(draws: pd.DataFrame, number: int) -> float:
    """Ask for the time of day; return the time of the run."""
    midnight_s = number * DAY_S
    inside = [_clock(start_s - midnight_s) for start_s in draws["start_s"] if start_s >= midnight_s]
    now = st.session_state.get("time", datetime.time(7))
    before = [at for at in inside if at < now]
    after = [at for at in inside if at > now]
    chosen = st.slider(
        "Time of day", datetime.time(0), datetime.time(23, 59, 50), datetime.time(7), key="time",
        step=datetime.timedelta(seconds=STEP_S), format="HH:mm:ss", bind="query-params",
    )  # fmt: skip
    with st.container(horizontal=True, vertical_alignment="center"):
        st.button(
            "Draw before", key="draw-before", disabled=not before, on_click=_go, args=("time", before[-1:])
        )
        st.button("Next draw", key="draw-next", disabled=not after, on_click=_go, args=("time", after[:1]))
        st.markdown(f"The train at **{chosen:%H:%M:%S}**", width="content")
    return midnight_s + chosen.hour * 3600.0 + chosen.minute * 60.0 + chosen.second


def _clock(seconds: float) -> datetime.time:
    """Return the next time the slider knows, for draws last longer than its step."""
    whole = min(int(-(-seconds // STEP_S)) * STEP_S, int(DAY_S) - STEP_S)
    return datetime.time(whole // 3600, whole // 60 % 60, whole % 60)


def _go(key: str, found: list[Any]) -> None:
    if found:
        st.session_state[key] = found[0]


def _tables(day: dict[str, pd.DataFrame], units: str) -> None:
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


def _draws_shown(draws: pd.DataFrame, units: str) -> pd.DataFrame:
    shown = pd.DataFrame({"time": draws["time"].dt.strftime("%H:%M:%S"), "use": draws["use"]})
    for label, column, kind in (
        ("volume", "volume_m3", "volume"),
        ("mean flow", "flow_m3_s", "flow"),
        ("least tap pressure", "tap_pressure_min_pa", "pressure"),
        ("least dose", "dose_min_j_m2", "dose"),
    ):
        unit = SHOWN[units][kind]
        decimals = max(unit.decimals, 1)
        shown[f"{label}, {unit.unit}"] = (draws[column] * from_si(1.0, unit.unit, kind)).round(decimals)
    shown["seconds"] = draws["seconds"].round(0)
    shown["unmet"] = draws["unmet"].map({True: "yes", False: ""})
    return shown


page()
