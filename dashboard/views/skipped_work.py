"""What if nobody does it? The same house with something left undone, told month by month."""

from typing import Any

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from dashboard import asking, frame, handed, keep, plates, shared_inputs, steps
from dashboard.jobs.job_table import Job
from dashboard.site import Site
from dashboard.words import answered, caution, listed, plain
from sim.drill.case import starts_at
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
GO, PAGE = "go-skip", "views/skipped_work.py"
FIRST = {"from": 3, "until": 0, "years": YEARS, "run": 0, "runs": RUNS, "seed": 1}
ASKED = ("policy", "tasks", *FIRST)  # what is asked, by its key on the page and in the address
HIDDEN = "hidden"  # in an address: what it asks is handed over hidden
FIRST_EFFECT = "wiped sleeve"  # what shows soonest when it is left undone


def _ask(site: Site) -> SkipQuestion | None:
    """Draw the question; of one that is handed over hidden nothing is drawn, so that nothing is sent."""
    if HIDDEN in st.query_params:
        handed.over(_by_address(site))
        del st.query_params[HIDDEN]
    if handed.stands():
        return _taken(site)
    values = _asked(site)
    ask, give = st.columns(2)
    with ask:
        asking.button("Tell what happens", GO, disabled=not values["tasks"], month=1, play=False)
    give.button(
        "Hand over hidden", key="hand-over", disabled=not values["tasks"], on_click=_hand_over,
        args=(values,), help="The page then shows only what a person can see. Its address can be given to a "
        "class: it works as long as this server runs.",
    )  # fmt: skip
    try:
        return _question(site, values)
    except InputError as error:
        st.warning(plain(str(error)))
        return None


def _taken(site: Site) -> SkipQuestion | None:
    values = handed.taken(*ASKED)
    try:
        if values is None:
            raise InputError(handed.LOST)
        question = _question(site, values)
    except InputError:  # whose words would name what is skipped
        st.warning(handed.LOST if values is None else "What was handed over is for another house.")
        if st.button("Ask anew", key="ask-anew"):
            handed.back(PAGE, {})
        return None
    left, right = st.columns(2)
    with left:
        asking.button("Tell what happens", GO, month=1, play=False)
    if right.button("Reveal what is skipped", key="reveal"):
        handed.back(PAGE, values)
    return question


def _hand_over(values: dict[str, Any]) -> None:
    handed.over(values)
    st.session_state.update({f"asked-{GO}": True, "month": 1, "play": False})


def _first_tasks(site: Site, known: list[str]) -> list[str]:
    found = [task.name for task in site.scenario.tasks if FIRST_EFFECT in task.effects and task.name in known]
    return found[:1] or [EVERYTHING]


def _by_address(site: Site) -> dict[str, Any]:
    """Return what an address asks, as the page would read it; what it cannot take is as at first."""
    names = [policy.name for policy in site.scenario.policies]
    said = st.query_params.get("policy")
    name = said if said in names else names[0]
    known = labels(site.asked.policy(name))
    tasks = [task for task in st.query_params.get_all("tasks") if task in known]
    numbers = {key: st.query_params.get(key, "") for key in FIRST}
    return {
        "policy": name,
        "tasks": tasks or _first_tasks(site, known),
        **{key: int(text) if text.isdecimal() else FIRST[key] for key, text in numbers.items()},
    }


def _asked(site: Site) -> dict[str, Any]:
    names = [policy.name for policy in site.scenario.policies]
    name = st.selectbox("Way of looking after it", names, key="policy", bind="query-params") or names[0]
    known = labels(site.asked.policy(name))
    wanted = _first_tasks(site, known)
    tasks = st.multiselect("What nobody does", known, wanted, key="tasks", bind="query-params")
    number, (left, right) = shared_inputs.number, st.columns(2)
    begin = number(left, "From month of the run", 1, MOST_MONTHS, FIRST["from"], "from")
    end = number(right, "Until month (0: to the end of the run)", 0, MOST_MONTHS, FIRST["until"], "until")
    a, b, c, d = st.expander("How long, which run, how many runs").columns(4)
    years = number(a, "Years in a run", 1, shared_inputs.MOST_YEARS, YEARS, "years")
    told = number(b, "Run told", 0, shared_inputs.MOST_RUNS - 1, FIRST["run"], "run")
    runs = number(c, "Runs of each", 1, shared_inputs.MOST_RUNS, RUNS, "runs")
    found = (name, tasks, begin, end, years, told, runs, shared_inputs.seed(d))
    return dict(zip(ASKED, found, strict=True))


def _question(site: Site, values: dict[str, Any]) -> SkipQuestion:
    tasks, years = values["tasks"], values["years"]
    from_s, until_s = _span_s(site, tasks, values["from"], values["until"], years)
    question = SkipQuestion(
        site=site.asked, policy=values["policy"], tasks=tuple(tasks), from_s=from_s, until_s=until_s,
        years=years, seed=values["seed"], replication=values["run"], replications=values["runs"],
        units=frame.units(),
    )  # fmt: skip
    question.check()
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
        revealed = not handed.stands()
        if revealed:
            answered([answer.sentence])
        else:
            st.markdown("Something is left undone in this house. Go through the months: what is it?")
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
    frame.redrawn(_month, site, days, story, revealed, playing, every_s=PLAY_S if playing else None)


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
    at_month = int(st.session_state["month"])
    steps.left("month", at_month)
    with st.container(horizontal=True):
        st.button("Month before", key="month-before", disabled=now <= 1, on_click=steps.press,
                  args=("month", steps.by(-1, 1, count)))  # fmt: skip
        st.button("Next month", key="month-next", disabled=now >= count, on_click=steps.press,
                  args=("month", steps.by(1, 1, count)))  # fmt: skip
    month = story.months[at_month - 1]
    skipped, kept = days
    at = (skipped["date"].dt.year == month.first.year) & (skipped["date"].dt.month == month.first.month)
    last = int(skipped.index[at][-1])
    st.markdown(f"**{month.first:%B %Y}** (month {month.number} of the run), the train on its last day")
    told = skip_boxes(site.scenario, skipped.iloc[last], kept.iloc[last], frame.units(), revealed)
    st.html(train_boxes.train_html(told))
    listed(_lines(month, revealed))
    day = month.first.toordinal() - site.scenario.start.toordinal()
    st.page_link(
        "views/drill.py", label="Stage a fault in this month",
        query_params={"starts": str(starts_at(day))},
    )  # fmt: skip


def _lines(month: Month, revealed: bool) -> list[str]:
    """Return what is told of a month: all of it, or only what shows on gauges, monitor, taps and pump."""
    if not revealed:
        return list(month.visible) or ["No sign on gauges, monitor, taps or pump."]
    said = [*month.lines, *([f"{month.stands}."] if month.stands else [])]
    return said or ["As it would have been."]


asking.page(
    "What if nobody does it?", _ask, _show, "Runs", "There is no story to tell:", GO,
    "The same house, weather, draws and chance, once with the work done and once without it.", at_once=True,
)  # fmt: skip
