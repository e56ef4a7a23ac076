"""The case a visitor has open in the drill, and how one is chosen, staged or handed over."""

import threading
from dataclasses import dataclass, field
from functools import partial
from typing import Any

import streamlit as st

from dashboard import frame, handed, keep, shared_inputs
from dashboard.site import Site
from sim.drill.case import LATEST, STARTS, drawn
from sim.drill.families import possible
from sim.drill.play import Ended, Play
from sim.drill.score import Score
from sim.drill.sheets import blank_sheet, key_sheet

KEY = "drill-open"  # of the case under way, in the state of this visitor
STAGED = ("house", "case", "starts", "fault")  # what a trainer hands over


@dataclass
class Open:
    """The case a visitor has open."""

    play: Play
    said: list[str] = field(default_factory=list)  # newest first
    came: tuple[str, ...] = ()  # of the last look or act
    refused: str = ""
    ended: Ended | None = None
    best: Ended | None = None
    score: Score | None = None
    turn: threading.RLock = field(default_factory=threading.RLock)  # a press may come while a page is drawn


def begin(site: str, seed: int, starts: int, fault: str | None = None) -> None:
    """Begin a case."""
    st.session_state[KEY] = Open(Play(drawn(site, seed, fault, starts), frame.units()))


def _hand_over(values: dict[str, Any]) -> None:
    handed.over(values)
    st.session_state.update({"stage-it": False, KEY: None})


def _choose(site: Site) -> None:
    left, right = st.columns(2)
    seed = shared_inputs.number(left, "Case number", 0, shared_inputs.MOST_SEED, 1, "case")
    starts = shared_inputs.number(right, "It begins on day of the year", 1, LATEST, STARTS, "starts")
    if not st.toggle("I am the trainer: let me choose the fault", key="stage-it"):
        st.button(
            "Begin this case", type="primary", key="drill-begin", on_click=begin,
            args=(site.key, seed, starts),
        )  # fmt: skip
        return
    fault = st.selectbox("Fault", possible(site.scenario), key="stage-fault")
    st.button(
        "Hand over hidden", type="primary", key="hand-over-fault", on_click=_hand_over,
        args=(dict(zip(STAGED, (site.key, seed, starts, fault), strict=True)),),
        help="Its address can be given to a class: it works as long as this server runs.",
    )  # fmt: skip
    case, units = drawn(site.key, seed, fault, starts), frame.units()
    with st.container(horizontal=True):
        keep.download("A blank sheet for the class (HTML)", partial(blank_sheet, case, units), "blank.html",
                      "text/html", "get-blank")  # fmt: skip
        keep.download(
            "The key to it (HTML)", partial(key_sheet, case, units), "key.html", "text/html", "get-key"
        )


def _staged() -> None:
    """Offer what a trainer staged; its fault is not sent."""
    values = handed.taken(*STAGED)
    if values is None:
        st.warning(handed.LOST)
    else:
        st.markdown("A trainer has staged this case. The address of this page brings it to others.")
        wanted = tuple(values[key] for key in STAGED)
        st.button("Begin this case", type="primary", key="drill-begin", on_click=begin, args=wanted)
    if st.button("Choose a case yourself", key="choose-anew"):
        handed.back("views/drill.py", {})


def offer(site: Site) -> None:
    """Offer what a trainer staged, or a case of one's own choice."""
    if handed.stands():
        _staged()
    else:
        _choose(site)
