"""What is wrong here? A hidden fault, played by what a person in the house sees and hears, then revealed.

The case is played in this process; only words of what shows are sent to the browser before the reveal.
"""

import streamlit as st

from dashboard import frame, keep, plates
from dashboard.drill_cases import KEY, Open, offer
from dashboard.site import Site
from dashboard.words import caution, listed, plain
from sim.drill.beside import beside
from sim.drill.case import ORDERS, Move, case_text
from sim.drill.expert import expert
from sim.drill.play import NOTED, UNTIL, Play
from sim.drill.price import takes
from sim.drill.reveal import days_frame, days_table, result_frame, words
from sim.drill.score import score
from sim.drill.sight import CHECKS, opens
from sim.drill.story import looks, story
from sim.errors import InputError
from sim.report.figures.comparison_figures import Plate
from sim.report.figures.drill_figure import drill_alt, drill_figure
from sim.scenario.read import load
from sim.scenario.scenario import Scenario
from sim.study.wording import counted, number

SPANS = {"Until something happens": Move(move="wait", what=UNTIL), "A day": Move(move="wait"),
         "A week": Move(move="wait", days=7), "A month": Move(move="wait", days=30)}  # fmt: skip
KINDS = ("Let time pass", "Look at something", "Do something", "Name a cause")
ORDER_WORDS = {
    "relieve, unplug, open": "let the pressure off, unplug, open",
    "unplug, relieve, open": "unplug, let the pressure off, open",
    "open": "open it as it stands",
}
LOG_LINES = 12


def _move(move: Move) -> None:
    case: Open = st.session_state[KEY]
    with case.turn:
        case.refused = ""
        try:
            seen = case.play.move(move)
        except InputError as error:
            case.refused = str(error)
            return
        day = f"Day {case.play.day}: "
        # What was noted at first stands beside the look, and in the notes below: once more is too often.
        case.said = [f"{day}{line}" for line in seen.words if not line.startswith(NOTED)] + case.said
        case.came = () if move.move == "wait" else seen.words


def _reveal() -> None:
    case: Open = st.session_state[KEY]
    with case.turn:
        case.ended = case.play.finish()
        case.best = expert(case.ended.case)
        case.score = score(case.ended, case.best)


def _stand(case: Open) -> None:
    """Say where the case stands, and what shows now."""
    play = case.play
    currency = play.scenario.prices.currency
    with st.container(key="lead"):
        st.markdown(
            f"Day {play.day}; the case runs from day {play.starts} to {play.ends}. "
            f"{play.log.minutes:.0f} min of looking, {play.cost:,.0f} {plain(currency)} spent."
        )
    st.header("What you can see and hear")
    with case.turn:
        seen = ("The case is over: see what was true.",) if play.over else play.see().words
    if case.came:  # above what anyone sees, so that nobody has to look for it further down
        st.info(plain(" ".join(line if line.endswith(".") else f"{line}." for line in case.came)))
    listed(seen)
    if case.refused:
        st.warning(plain(case.refused))


def _written(case: Open) -> None:
    """Show what was told so far beside the notes, so that they can be compared."""
    notes = st.container()
    if case.said:
        said, notes = st.columns(2)
        with said:
            st.subheader("So far, newest first")
            listed(case.said[:LOG_LINES])
    with notes:
        st.subheader("Noted on the day you took it over")
        listed([line for seen in case.play.notes for line in seen.words])
    if case.play.log.looks:
        st.subheader("Readings side by side")
        read = beside(case.play)
        days = counted(len(read), "day")
        st.dataframe(
            read, hide_index=True, key="table-beside", alt=f"what was read on {days}, the first on top"
        )


def _works(scenario: Scenario) -> None:
    """Tell how the house works to those who have not seen it before."""
    with st.expander("How this house works, and what each look shows"):
        listed([*story(scenario, frame.units()), *looks()])


def _next(case: Open) -> None:
    """Ask what is done next."""
    for kept in ("drill-cause", "drill-sure"):  # else forgotten while another kind of move is shown
        if kept in st.session_state:
            st.session_state[kept] = st.session_state[kept]
    st.header("What do you do next?")
    kind = st.radio("Kind", KINDS, horizontal=True, key="drill-kind", label_visibility="collapsed")
    if kind == KINDS[0]:
        with st.container(horizontal=True):
            for name, move in SPANS.items():
                st.button(name, key=f"drill-{name}", on_click=_move, args=(move,))
    elif kind == KINDS[1]:
        _look(case.play)
    elif kind == KINDS[2]:
        _do(case.play)
    else:
        cause = st.selectbox("Cause", sorted(case.play.causes), index=None, key="drill-cause")
        percent = st.slider(
            "How sure, in percent", 0, 100, 50, 5, key="drill-sure",
            help="100: it cannot be anything else. 50: as likely as not. The last you note counts: "
            "being sure and wrong counts most against you.",
        )  # fmt: skip
        move = Move(move="believe", what=cause or "", probability=percent / 100.0)
        st.button("Note it", key="drill-note", disabled=cause is None, on_click=_move, args=(move,))


def _look(play: Play) -> None:
    people, currency = play.scenario.people, play.scenario.prices.currency
    minute = f"{number(people.owner_hour / 60.0)} {currency}"
    st.caption(f"Looking takes its time, and each minute of yours counts for {plain(minute)}.")
    with st.container(horizontal=True):
        for what, check in CHECKS.items():
            st.button(
                f"{what.capitalize()} ({check.minutes:g} min)", key=f"drill-look-{what}", on_click=_move,
                args=(Move(move="check", what=what),),
            )  # fmt: skip


def _do(play: Play) -> None:
    what = st.selectbox("Do", play.acts, key="drill-act")
    task = play.scenario.task(what)
    stage: str | None = None
    order: str | None = ORDERS[0]
    if task is not None and task.on_stage:
        stage = st.selectbox("Stage", list(play.scenario.stage_names), key="drill-stage")
    if task is not None and opens(play.scenario, task.name):
        order = st.radio(
            "Water at pressure throws a cap, the lamp's light burns eyes and skin. It is at pressure and "
            "lit: in which order do you work?",
            sorted(ORDERS),
            index=None,
            key="drill-order",
            format_func=ORDER_WORDS.__getitem__,
        )
    elif task is not None and task.caution:
        st.warning(plain(task.caution))
    st.markdown(plain(takes(play, what, stage)))
    if order is None:
        st.caption("Choose an order first.")
    chosen = {"move": "act", "what": what, "stage": stage, "order": order or ORDERS[0]}
    st.button(
        "Do it", key="drill-do", type="primary", disabled=order is None, on_click=_move,
        args=(Move.model_validate(chosen),),
    )  # fmt: skip


def _told(case: Open) -> None:
    """Show what was true."""
    ended, best, found = case.ended, case.best, case.score
    assert ended is not None
    assert best is not None
    assert found is not None
    units = frame.units()
    told = words(ended, best, found, units)
    st.header("What was true")
    with st.container(key="lead"):
        st.markdown(plain(told[1]))
    listed(told[2:])
    days = days_frame(ended, best)
    plates.show(
        Plate("drill", "The days of this case", drill_alt(days, ended, units),
              drill_figure(days, ended, units), days_table(days, units),
              "Dots are what the display read on the mornings that were lived through.", shows_dose=True)
    )  # fmt: skip
    st.header("Keep it")
    whole = ended.case.model_copy(update={"moves": tuple(ended.log.moves), "fault": ended.case.staged})
    with st.container(horizontal=True):
        keep.download("The case (TOML)", case_text(whole), "case.toml", "text/plain", "get-case")
        keep.table_download("The score (CSV)", result_frame(ended, found), "result")


def _page(site: Site) -> None:
    st.title("What is wrong here?")
    caution()
    if site.key not in load.built_in():
        st.warning("A drill is played at a built-in house; choose one above.")
        return
    case: Open | None = st.session_state.get(KEY)
    if case is None:
        _told_first()
        _works(site.scenario)
        offer(site)
        return
    if case.ended is None:
        _stand(case)
        if not case.play.over:
            _next(case)
        st.button("Done: show what was true", key="drill-reveal", on_click=_reveal)
        if not case.play.over:
            st.caption(
                "Once you have named it and mended it, ask. Then the house runs on, as you leave it, to day "
                f"{case.play.ends}: an alarm you left unanswered sounds on."
            )
        _written(case)
        _works(case.play.scenario)
    else:
        _told(case)
    with st.expander("Another case: this one is left"):
        offer(site)


def _told_first() -> None:
    st.markdown(
        "When the alarm sounds or the display is dark, nobody drinks until it is mended and the taps are "
        "flushed: here that is taken as done, and not asked for. You take over a house, and something in it "
        "will go wrong. Begin, read what was noted, and let time pass until something happens: that may take "
        "two weeks, and dirt and film gather meanwhile, so that a sign may be wear alone. Look before you "
        "act, and name the cause before you mend it. Then ask what was true."
    )


_page(frame.site())
