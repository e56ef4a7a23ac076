"""The entry of the dashboard: the frame around its pages, and nothing else.

Guarded, because processes that are started from a server may import its main file again.
"""

from pathlib import Path

import streamlit as st

VIEWS = Path(__file__).parent / "views"


def main() -> None:
    """Show the page that was asked for, in the frame all pages share."""
    from dashboard import frame  # noqa: PLC0415  only the server needs it

    st.set_page_config(page_title="cisterntwin", layout="centered")
    page = st.navigation(
        [
            st.Page(VIEWS / "compare.py", title="Compare policies", default=True),
            st.Page(VIEWS / "history.py", title="One history"),
            st.Page(VIEWS / "house.py", title="This house"),
            st.Page(VIEWS / "care.py", title="Its upkeep"),
            st.Page(VIEWS / "rests_on.py", title="What it rests on"),
        ],
        position="top",
    )
    frame.show()
    page.run()


if __name__ == "__main__":
    main()
