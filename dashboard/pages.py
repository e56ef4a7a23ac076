"""The pages: a new one is a file in `views/` and a line here."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from streamlit.navigation.page import StreamlitPage

VIEWS = Path(__file__).parent / "views"
PAGES = (  # file, what people read; the first is shown first
    ("today.py", "Today"),
    ("compare.py", "Compare policies"),
    ("history.py", "One history"),
    ("skipped_work.py", "Skipped work"),
    ("design.py", "Design"),
    ("drill.py", "Drill"),
    ("sizes.py", "Sizes"),
    ("intervals.py", "Intervals"),
    ("house.py", "The house"),
    ("maintenance.py", "Maintenance"),
    ("assumptions.py", "Assumptions"),
)


def made() -> "Sequence[StreamlitPage]":
    """Return the pages as the server knows them."""
    import streamlit as st  # noqa: PLC0415  only the server needs it

    return [st.Page(VIEWS / file, title=title, default=at == 0) for at, (file, title) in enumerate(PAGES)]
