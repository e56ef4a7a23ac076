"""How a page asks: a button, how far the answer is, why there is none; then the answer."""

from typing import Any

import streamlit as st

from dashboard import frame
from dashboard.jobs.job_table import Asked, Job, key_of


def button(words: str, key: str, disabled: bool = False, **state: Any) -> None:
    """Show the button that asks; pressing it may put other things of the page back."""
    st.button(
        words, type="primary", disabled=disabled, key=key,
        on_click=lambda: st.session_state.update({f"asked-{key}": True, **state}),
    )  # fmt: skip


def answered(asked: Asked, noun: str, excuse: str, key: str = "", before: str = "") -> Job | None:
    """Return the job whose answer can be shown; else show how far it is, or the excuse and why.

    With the key of a button it is asked when that was pressed, and until then something else stands there;
    without one it is asked at once.
    """
    table, name = frame.jobs(), key_of(asked)
    if st.session_state.pop(f"asked-{key}", False) or (not key and table.get(name) is None):
        table.start(asked)
    frame.follow(name, noun)
    job = table.get(name)
    if job is None:
        if before:
            st.caption(before)
    elif not job.active and job.result is None:
        st.error(excuse)
        st.text(job.said or "It was stopped.")
    elif not job.active:
        return job
    return None
