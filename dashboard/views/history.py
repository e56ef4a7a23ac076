"""What happens in this house, day by day? One run of one policy."""

from typing import Any

import pandas as pd
import streamlit as st

from dashboard import drawing, frame
from dashboard.history import history_alt, history_figure
from dashboard.jobs import key_of
from dashboard.report import by_month
from dashboard.site import Site
from dashboard.words import caution, extrapolated, plain
from dashboard.worker import Question
from sim.study.answer import three_digits

PLOT = {"displaylogo": False, "plotlyServerURL": ""}


def page() -> None:
    """Show one run: the train on a day, the months, the events."""
    st.title("What happens in this house, day by day?")
    site = frame.site()
    question = _ask(site)
    key = key_of(question)
    if frame.jobs().get(key) is None:
        frame.jobs().start(question)
    frame.follow(key, "The run")
    job = frame.jobs().get(key)
    if job is None or job.active:
        caution()
    elif job.result is None:
        st.error("There is no run to show.")
        st.text(job.said or "It was stopped.")
        caution()
    else:
        _show(site, question, job.result)


def _ask(site: Site) -> Question:
    names = [policy.name for policy in site.scenario.policies]
    policy = st.selectbox("Way of looking after it", names, key="policy", bind="query-params")
    left, middle, right = st.expander("Which run").columns(3)
    years = left.number_input("Years in a run", 1, 50, 2, key="years", bind="query-params")
    run = middle.number_input("Run number", 0, 499, 0, key="run", bind="query-params")
    seed = right.number_input("Seed of chance", 0, 2**31, 1, key="seed", bind="query-params")
    return Question(
        "history",
        site.scenario,
        site.digest,
        (policy or names[0],),
        int(years),
        int(run),
        int(seed),
        site.rain,
    )


def _show(site: Site, question: Question, result: dict[str, Any]) -> None:
    days, events = result["days"], result["events"]
    row = result["row"]
    low, off, cost = (three_digits(float(row[name])) for name in ("days_below_target", "water_off_h", "cost"))
    st.markdown(
        f"This run of **{plain(question.policies[0])}**: {low} days below the dose target a year, "
        f"{off} water-off hours a year, {cost} {plain(site.scenario.prices.currency)} a year. "
        "One run shows what can happen, not how often."
    )
    caution()
    extrapolated([row["extrapolated"]])
    st.subheader("The train on a day")
    number = _pick_day(days, events)
    day = days.iloc[number]
    st.html(drawing.train_html(drawing.boxes(site.scenario, day, frame.units())))
    _events(events, number)
    st.subheader("Months at a glance")
    uv = site.scenario.uv
    stages = [stage.name for stage in site.scenario.stages]
    figure = history_figure(days, events, stages, frame.units(), uv.target_j_m2, uv.alarm)
    for note in figure.layout.annotations:
        if note.xref == "paper" and note.yanchor == "bottom":  # a title of a panel; must fit a phone
            note.update(text=note.text.replace(" (", "<br>("), x=0.0, xanchor="left", font={"size": 11})
    st.plotly_chart(
        figure, theme=None, config=PLOT, key="figure-history",
        alt=history_alt(days, events, question.policies[0], uv.target_j_m2),
    )  # fmt: skip
    st.dataframe(
        by_month(days, frame.units()), hide_index=True, key="table-months", alt="The least of each month"
    )


def _pick_day(days: pd.DataFrame, events: pd.DataFrame) -> int:
    last = len(days) - 1
    marked = sorted({int(day) for day in events["time_s"] // 86400 if 0 <= day <= last})
    now = min(int(st.session_state.get("day", 0)), last)
    before = [day for day in marked if day < now]
    after = [day for day in marked if day > now]
    number = int(st.slider("Day of the run", 0, last, key="day", bind="query-params"))
    date, left, right = st.columns([2, 1, 1], vertical_alignment="center")
    date.markdown(f"**{days['date'].iloc[number]:%d %B %Y}**, day {number}")
    left.button("Event before", key="before", disabled=not before, on_click=_go, args=(before[-1:],))
    right.button("Next event", key="next", disabled=not after, on_click=_go, args=(after[:1],))
    return number


def _go(day: list[int]) -> None:
    if day:
        st.session_state["day"] = day[0]


def _events(events: pd.DataFrame, number: int) -> None:
    found = events[events["time_s"] // 86400 == number]
    if found.empty:
        st.caption("No event on this day.")
        return
    shown = found[["time", "kind", "subject", "note", "cost"]].copy()
    shown["time"] = shown["time"].dt.strftime("%H:%M")
    st.dataframe(shown, hide_index=True, key="table-events", alt=f"{len(shown)} events of the day")


page()
