"""How does this house stand today? Its sentence, its train, a line a part, the next visit, a reading."""

from datetime import UTC, date, datetime

import streamlit as st

from dashboard import diaries, frame, keep
from dashboard.asking import so_far
from dashboard.diaries import Kept
from dashboard.jobs.job_table import Job
from dashboard.site import Site
from dashboard.words import caution, listed, plain
from sim.diary import archive
from sim.diary.done import last_done
from sim.diary.followed import check_followed
from sim.diary.score import OPEN
from sim.errors import InputError
from sim.report.reports import report
from sim.report.train.checks import CHECKS_CSS, checks_html
from sim.report.train.lines import LINES_CSS, dots, lines_html
from sim.report.train.picture import picture
from sim.report.train.shapes import PICTURE_CSS
from sim.report.train.states import states
from sim.report.train.visit_box import BOX_CSS, visit_html
from sim.study.check_first.question import CheckFirstQuestion
from sim.study.check_first.signs import signs
from sim.study.dates import spelled
from sim.study.questions import ask
from sim.study.today.alerts import alerts
from sim.study.today.question import TodayAnswer, TodayQuestion
from sim.study.today.visit import TOGETHER_DAYS, as_visit
from sim.study.today.words import RANGES, unused_line
from sim.study.visits.icalendar_file import calendar
from sim.study.visits.question import VisitsAnswer, VisitsQuestion
from sim.study.wording import capital, counted

NOT_COMPARED = (
    "A model of this house, moved by its readings. No real household's readings have been compared with it "
    "yet. Readings stay on this machine."
)
PAGE_CSS = """
.stMainBlockContainer {max-width: 74rem;}
.train svg.tall {display: none;} .train svg.wide {width: 100%;}
@media (max-width: 819px) {
  .train svg.wide {display: none;}
  .train svg.tall {display: block; width: 100%; max-width: 400px; margin: 0 auto;}
}
"""
BARS = (
    "Each bar shows what is left before one must act: solid is almost surely left, hatched may be left, "
    "the stroke is the middle."
)
STRIPS = "The mark ▼ is the day to act by; the hatched band is when its limit is likely to come."


def page() -> None:
    """Show the house as its diary tells it."""
    st.html(f"<style>{PICTURE_CSS}{LINES_CSS}{BOX_CSS}{CHECKS_CSS}{PAGE_CSS}</style>")
    st.title("How does this house stand today?")
    site = frame.site()
    try:
        check_followed(site.scenario)
    except InputError as error:
        st.error("This house cannot be told day by day:", icon=":material/error:")
        st.text(str(error))
        st.page_link("views/compare.py", label="Compare ways of looking after it")
        caution()
        return
    try:
        kept = diaries.kept(site)
        earlier = archive.read(kept.folder)
    except InputError as error:
        st.error("This diary cannot be read:", icon=":material/error:")
        st.text(str(error))
        return
    if kept.made_up:
        st.caption(
            "The diary of this built-in house is invented. The first reading you enter begins one of your "
            f"own, in {plain(str(kept.folder))}."
        )
    for alert in alerts(site.scenario, kept.diary.until(kept.today)):
        st.error(plain(alert), icon=":material/error:")
    question = TodayQuestion(
        site=site.asked,
        diary=kept.diary,
        today=kept.today,
        earlier=earlier,
        units=frame.units(),
        count=diaries.paths_count(),
    )
    name, job, answer = so_far(question)
    first = st.container()
    frame.follow(name, "The sampled years of this house", shown=0 if job is None else job.handed_on)
    if answer is None:
        _waiting(site, kept, job, first)
    else:
        _answered(site, kept, answer, first)
    if answer is not None and not answer.rough and not kept.made_up and kept.diary.begun:
        archive.keep(kept.folder, answer.forecasts)


def _waiting(site: Site, kept: Kept, job: Job | None, first: st.delta_generator.DeltaGenerator) -> None:
    """Show what stands without any sampling: the calendar, counted from what was noted."""
    with first:
        if job is not None and not job.active:
            st.error("The state was not made:")
            st.text(job.said)
        policy = site.scenario.policies[0]
        done = last_done(kept.diary, policy, kept.today)
        plan = VisitsQuestion(
            site=site.asked, policy=policy.name, start=kept.today, done=done, together_days=TOGETHER_DAYS
        )
        coming = [visit for visit in ask(plan).visits if not visit.only_readings]
        with st.container(key="lead"):
            if coming:
                jobs = ", ".join(job.label for job in coming[0].jobs)
                st.markdown(plain(f"By the calendar alone, next on {spelled(coming[0].on)}: {jobs}."))
            else:
                st.markdown("By the calendar alone nothing falls due within a year.")
        st.caption("The readings are being weighed along sampled years of this house.")
        last = [f"{one.observed} on {one.at:%Y-%m-%d}" for one in kept.diary.readings[-3:]]
        listed([f"Last read: {', '.join(last)}."] if last else [])
    _enter(site, None)


def _answered(site: Site, kept: Kept, answer: TodayAnswer, first: st.delta_generator.DeltaGenerator) -> None:
    scenario, units = site.scenario, frame.units()
    with first:
        caution()
        with st.container(key="lead"):
            st.markdown(plain(answer.sentence))
        if answer.rough:
            st.caption("A first, rougher look; the rest of the sampled years follows.")
        st.caption(RANGES)
        shown = states(scenario, kept.diary, answer, units)
        for width in (1160, 390):
            st.markdown(f'<div class="train">{picture(scenario, shown, width)}</div>', unsafe_allow_html=True)
        st.caption(BARS)
        if answer.unfit:
            st.header("Does not fit")
            listed(answer.unfit)
        st.header("Part by part")
        st.caption(STRIPS)
        st.html(lines_html(answer, units))
        st.markdown(plain(answer.waiting_words))
        left, right = st.columns([7, 5], gap="medium")
        with left:
            _visit(site, kept, answer)
        with right:
            _enter(site, answer)
            _score(answer, kept.made_up)
        _check_first(site, kept)
        st.caption(NOT_COMPARED)


def _check_first(site: Site, kept: Kept) -> None:
    """Tell what to check first when something is amiss."""
    st.header("What to check first")
    sign = st.pills("Something is wrong", list(signs()), format_func=_sign, key="sign", bind="query-params")
    if sign is None:
        st.caption("Choose what you see; the order follows from what is likely and what each step takes.")
        return
    question = CheckFirstQuestion(
        site=site.asked, diary=kept.diary, today=kept.today, sign=sign, count=diaries.paths_count()
    )
    name, job, found = so_far(question)
    frame.follow(name, "What is likely", shown=0 if job is None else job.handed_on)
    if found is not None:
        st.markdown(plain(found.sentence))
        st.html(checks_html(found, site.scenario.prices.currency))
        if found.skipped:
            st.caption("Left out:")
            listed(found.skipped)
    elif job is not None and not job.active:
        st.warning(plain(job.said))


def _sign(name: str) -> str:
    return capital(name).replace("uv", "UV")


def _visit(site: Site, kept: Kept, answer: TodayAnswer) -> None:
    with st.container(border=True, key="visit"):
        st.header("Next visit")
        if answer.visit is None:
            st.markdown("Nothing falls due that can be told. Note when each part was last seen to.")
            return
        st.html(visit_html(site.scenario, answer))
        visit, policy = as_visit(site.scenario, answer.visit), site.scenario.policies[0]
        question = VisitsQuestion(
            site=site.asked, policy=policy.name, start=kept.today, done={}, together_days=TOGETHER_DAYS
        )
        only = VisitsAnswer((visit,), "", ask(question).table.head(0))
        with st.container(horizontal=True):
            keep.download(
                "Visit sheet",
                lambda: report(question, only, frame.units()),
                "visit.html",
                "text/html",
                "get-sheet",
            )
            keep.download(
                "Calendar file",
                lambda: calendar(site.scenario, policy.name, (visit,), None, datetime.now(UTC)),
                "visit.ics", "text/calendar", "get-calendar",
            )  # fmt: skip
            keep.download("Shopping list", _list(answer), "buy.txt", "text/plain", "get-list")
        st.page_link("views/skipped_work.py", label="Skip this: what happens?")


def _list(answer: TodayAnswer) -> str:
    assert answer.visit is not None
    lines = [
        f"For the visit by {spelled(answer.visit.on)}:",
        *(f"- {part}" for part in answer.visit.buy or ("nothing",)),
    ]
    return "\n".join(lines) + "\n"


def _enter(site: Site, answer: TodayAnswer | None) -> None:
    """Offer a box for a reading; what looks odd is asked about under it."""
    with st.container(border=True, key="enter"):
        st.header("Enter a reading")
        if answer is not None and answer.wish_words:
            listed(answer.wish_words[:2])
        with st.form("reading", border=False, clear_on_submit=True):
            words = st.selectbox("What you read", diaries.readable(site), key="read-what")
            left, right = st.columns(2)
            typed = left.text_input("Number", key="read-number", max_chars=30, placeholder="71 %")
            on = right.date_input("When", date.today(), max_value=date.today(), key="read-on")
            if st.form_submit_button("Add it", type="primary"):
                _add(site, words or "", typed, on)
        if entered := st.session_state.get(_of("entered", site)):
            st.caption(plain(f"Taken as: {entered}."))
        _question(site)
        if answer is not None and answer.unused:
            st.caption(plain(unused_line(answer.unused)))
        _work(site)


def _of(name: str, site: Site) -> str:
    """Return the key under which something of one diary is kept: another house has its own."""
    return f"{name}-{diaries.folder_of(site)}"


def _add(site: Site, words: str, typed: str, on: date) -> None:
    cells = diaries.cells_of(site, words, typed, on, frame.units())
    try:
        asked = diaries.add(site, cells)
    except InputError as error:
        st.warning(plain(str(error)))
        return
    st.session_state[_of("doubted", site)] = asked
    st.session_state[_of("entered", site)] = " ".join([words, cells["result"], cells["unit"]]).strip()
    st.rerun()


def _question(site: Site) -> None:
    asked = st.session_state.get(_of("doubted", site))
    if asked is None:
        return
    st.warning(plain(capital(asked.question)))
    with st.container(horizontal=True):
        for label, right in (("It is right", True), ("Take it back", False)):
            st.button(label, key=f"doubt-{right}", on_click=_settle, args=(site, asked, right))


def _settle(site: Site, asked: diaries.Asked, right: bool) -> None:
    diaries.settle(site, asked, right)
    st.session_state[_of("doubted", site)] = None
    if not right:
        del st.session_state[_of("entered", site)]


def _work(site: Site) -> None:
    with st.expander("Note what was done"), st.form("work", border=False, clear_on_submit=True):
        label = st.selectbox("What was done", diaries.works(site), key="done-what")
        on = st.date_input("When it was done", date.today(), max_value=date.today(), key="done-on")
        if st.form_submit_button("Note it"):
            diaries.note(site, label or "", on)
            st.rerun()


def _score(answer: TodayAnswer, made_up: bool) -> None:
    st.subheader("How good were the past forecasts?")
    due = [one for one in answer.scored if one.outcome != OPEN]
    if due:
        st.html(dots([0.1 <= one.pit <= 0.9 for one in due]))
    st.markdown(plain(answer.score_words))
    if answer.forecasts and not made_up:
        st.caption(
            f"{counted(len(answer.forecasts), 'forecast')} made today are kept and scored when it comes."
        )


page()
