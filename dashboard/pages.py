"""The pages: a new one is a file in `views/` and a line here."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from streamlit.navigation.page import StreamlitPage

VIEWS = Path(__file__).parent / "views"
PAGES = (  # file, what people read; the first is shown first
    ("compare.py", "Compare policies"),
    ("history.py", "One history"),
    ("nobody.py", "If nobody does it"),
    ("sizes.py", "Which sizes"),
    ("intervals.py", "How often"),
    ("house.py", "This house"),
    ("care.py", "Its upkeep"),
    ("rests_on.py", "What it rests on"),
)


def made() -> "Sequence[StreamlitPage]":
    """Return the pages as the server knows them."""
    import streamlit as st  # noqa: PLC0415  only the server needs it

    return [st.Page(VIEWS / file, title=title, default=at == 0) for at, (file, title) in enumerate(PAGES)]
