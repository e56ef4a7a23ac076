"""Text of others as text: no markup of a name or a message is ever read as markup."""

import string

import streamlit as st

from sim.study.answer import CAUTION

_ESCAPED = str.maketrans({sign: "\\" + sign for sign in string.punctuation})


def plain(text: str) -> str:
    """Return a text that Markdown shows as it stands.

    Parameters
    ----------
    text : str
        Any text on one line.

    Returns
    -------
    str
        The same with every sign of punctuation escaped.
    """
    return text.translate(_ESCAPED)


def caution() -> None:
    """Show the caution that stands wherever dose or a procedure is shown."""
    st.info(CAUTION, icon=":material/warning:")
