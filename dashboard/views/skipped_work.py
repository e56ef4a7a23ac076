"""What if nobody does it? The same house with something left undone, told month by month."""

from typing import Any

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from dashboard import asking, frame, keep, plates, shared_inputs
from dashboard.jobs.job_table import Job
from dashboard.site import Site
from dashboard.words import answered, caution, listed, plain
from sim.errors import InputError
from sim.report.figures import train_boxes
from sim.report.figures.comparison_figures import Plate
from sim.report.figures.skip_boxes import skip_boxes
from sim.report.figures.skip_figure import months_table, skip_alt, skip_figure
from sim.scenario.care import EVERYTHING
from sim.study.skip.months import Month
from sim.study.skip.question import SkipAnswer, SkipQuestion
from sim.study.skip.skipping import labels, moment_s
from sim.study.skip.story import Story

YEARS, RUNS = 3, 10  # as the command's
MOST_MONTHS = 12 * shared_inputs.MOST_YEARS
PLAY_S = 2.0
HIDE = "<style>.st-key-asked {display: none;}</style>"  # what is to be found out
FIRST_EFFECT = "wiped sleeve"  # what shows soonest when it is left undone


def _ask(site: Site) -> SkipQuestion | None:
    with st.container(key="asked"):
        return _asked(site)


def _asked(site: Site) -> SkipQuestion | None:
    st.page_link("views/drill.py", label="Stage a fault for people to find")
    names = [policy.name for policy in site.scenario.policies]
    name = st.selectbox("Way of looking after it", names, key="policy", bind="query-params") or names[0]
    known = labels(site.asked.policy(name))
    first = [task.name for task in site.scenario.tasks if FIRST_EFFECT in task.effects and task.name in known]
    wanted = first[:1] or [EVERYTHING]
    tasks = st.multiselect("What nobody does", known, wanted, key="tasks", bind="query-params")
    left, right = st.columns(2)
    begin = shared_inputs.number(left, "From month of the run", 1, MOST_MONTHS, 3, "from")
    end = shared_inputs.number(right, "Until month (0: to the end of the run)", 0, MOST_MONTHS, 0, "until")
    a, b, c, d = st.expander("How long, which run, how many runs").columns(4)
    years = shared_inputs.number(a, "Years in a run", 1, shared_inputs.MOST_YEARS, YEARS, "years")
    told = shared_inputs.number(b, "Run told", 0, shared_inputs.MOST_RUNS - 1, 0, "run")
    runs = shared_inputs.number(c, "Runs of each", 1, shared_inputs.MOST_RUNS, RUNS, "runs")
    seed = shared_inputs.seed(d)
    asking.button("Tell what happens", "go-skip", disabled=not tasks, month=1, play=False)
    try:
        from_s, until_s = _span_s(site, tasks, begin, end, years)
        question = SkipQuestion(
            site=site.asked, policy=name, tasks=tuple(tasks), from_s=from_s, until_s=until_s, years=years,
            seed=seed, replication=told, replications=runs, units=frame.units(),
        )  # fmt: skip
        question.check()
    except InputError as error:
        st.warning(plain(str(error)))
        return None
    return question


def _span_s(site: Site, tasks: list[str], begin: int, end: int, years: int) -> tuple[float, float | None]:
    if not tasks:
        raise InputError("Choose at least one task.")
    if 0 < end <= begin:
        raise InputError(f"Until month is {end}; wanted a month after month {begin}, or 0")
    start = site.scenario.start
    until_s = moment_s(f"month {end}", start, years, "Until month") if end else None
    return moment_s(f"month {begin}", start, years, "From month"), until_s


def _show(site: Site, question: SkipQuestion, job: Job, first: DeltaGenerator) -> None:
    answer: SkipAnswer = job.answer
    story = answer.story
    with first:
        asking.tightens(job)
        revealed = not st.toggle(
            "Show only what a person can see (reveal the rest later)", key="hidden", bind="query-params"
        )
        if revealed:
            answered([answer.sentence])
    if not revealed:
        st.html(HIDE)
    _months(site, [answer.skipped, answer.kept], story, revealed)
    if not revealed:
        caution()
        return
    st.header("In this run")
    listed(story.summary)
    st.caption("One run shows what can happen, not how often.")
    plates.show(
        Plate(
            "skip", "Skipped beside kept", skip_alt(answer.kept, answer.skipped, story),
            skip_figure(answer.kept, answer.skipped, story, site.scenario.uv.alarm, frame.units()),
            months_table(story, frame.units()), "The table holds each month as skipped and as kept.",
            shows_dose=True,
        )
    )  # fmt: skip
    if job.active:
        return
    words = "The handout (HTML, prints on two pages)"
    keep.show(site, question, answer, report_words=words)


def _months(site: Site, days: list[Any], story: Story, revealed: bool) -> None:
    """Show the train month by month; it plays by itself when asked to."""
    st.header("Month by month")
    if st.session_state.pop("played-out", False):
        st.session_state["play"] = False
    playing = st.toggle("Play, a month every two seconds", key="play")
    st.session_state.pop("month-shown", None)  # what is drawn anew as a whole does not move on
    st.fragment(_month, run_every=PLAY_S if playing else None)(site, days, story, revealed, playing)


def _month(site: Site, days: list[Any], story: Story, revealed: bool, playing: bool) -> None:
    count = len(story.months)
    now = min(max(int(st.session_state.get("month", 1)), 1), count)
    if playing and st.session_state.get("month-shown") == now:  # nobody moved it meanwhile
        if now == count:  # the switch goes off by itself at the end
            st.session_state["played-out"] = True
            st.rerun()
        now += 1
    st.session_state.update({"month": now, "month-shown": now})
    if count > 1:
        st.slider("Month since the work was left", 1, count, key="month")
    with st.container(horizontal=True):
        st.button("Month before", key="month-before", disabled=now <= 1, on_click=_step, args=(-1,))
        st.button("Next month", key="month-next", disabled=now >= count, on_click=_step, args=(1,))
    month = story.months[int(st.session_state["month"]) - 1]
    skipped, kept = days
    at = (skipped["date"].dt.year == month.first.year) & (skipped["date"].dt.month == month.first.month)
    last = int(skipped.index[at][-1])
    st.markdown(f"**{month.first:%B %Y}** (month {month.number} of the run), the train on its last day")
    told = skip_boxes(site.scenario, skipped.iloc[last], kept.iloc[last], frame.units(), revealed)
    st.html(train_boxes.train_html(told))
    listed(_lines(month, story, revealed))


def _lines(month: Month, story: Story, revealed: bool) -> list[str]:
    """Return what is told of a month: all of it, or only what shows on gauges, monitor, taps and pump."""
    if not revealed:
        return list(month.visible) or ["No sign on gauges, monitor, taps or pump."]
    said = [*month.lines, *([f"{month.stands}."] if month.stands else [])]
    return said or ["As it would have been."]


def _step(by: int) -> None:
    st.session_state["month"] = int(st.session_state.get("month", 1)) + by


asking.page(
    "What if nobody does it?", _ask, _show, "Runs", "There is no story to tell:", "go-skip",
    "The same house, weather, draws and chance, once with the work done and once without it.", at_once=True,
)  # fmt: skip
