"""The entry of the dashboard: the frame around its pages, and nothing else.

Guarded, because processes that are started from a server may import its main file again.
"""

import streamlit as st


def main() -> None:
    """Show the page that was asked for, in the frame all pages share."""
    from dashboard import frame, pages  # noqa: PLC0415  only the server needs them

    st.set_page_config(page_title="cisterntwin", layout="centered")
    known = pages.made()
    page = st.navigation(known, position="hidden")
    frame.arrive(page)
    frame.links(known)
    frame.show()
    page.run()


if __name__ == "__main__":
    main()
