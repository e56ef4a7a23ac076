"""Text of others as text: no markup of a name or a message is ever read as markup."""

import string
from collections.abc import Iterable

import streamlit as st

from sim.scenario import ranges
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


def extrapolated(rows: Iterable[object]) -> None:
    """Say which inputs lie outside the ranges in which they are believed, if any do.

    Parameters
    ----------
    rows : iterable of object
        The column of that name.
    """
    if said := ranges.said(ranges.joined(rows)):
        st.warning(plain(said))


def caution() -> None:
    """Show the caution that stands wherever dose or a procedure is shown."""
    st.info(CAUTION, icon=":material/warning:")
