"""Buttons that move a slider, of which no press is lost.

With a press comes where the browser last saw the slider. After a press that is not drawn there yet, that is
where it stood before: so a press goes on from where the slider was left here.
"""

from collections.abc import Callable
from typing import Any

import streamlit as st


def left(key: str, value: Any) -> None:
    """Note where a slider stands as it is drawn."""
    st.session_state[_name(key)] = value


def press(key: str, to: Callable[[Any], Any]) -> None:
    """Move a slider from where it was left: the callback of a button."""
    if _name(key) in st.session_state:
        st.session_state[key] = st.session_state[_name(key)] = to(st.session_state[_name(key)])


def by(step: int, least: int, most: int) -> Callable[[int], int]:
    """Return a move by a number of steps, within limits."""
    return lambda now: min(max(now + step, least), most)


def mark(marks: list[Any], onward: bool) -> Callable[[Any], Any]:
    """Return a move to the next of some marks, or to the one before; it stays where there is none."""

    def to(now: Any) -> Any:
        if onward:
            return min((one for one in marks if one > now), default=now)
        return max((one for one in marks if one < now), default=now)

    return to


def _name(key: str) -> str:
    return f"{key}-left"
