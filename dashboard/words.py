"""Text of others as text: no markup of a name or a message is ever read as markup."""

import re
import string
from collections.abc import Iterable, Sequence

import streamlit as st

from sim.scenario.values import ranges
from sim.study.caution import BRIEF, CAUTION

_ESCAPED = str.maketrans({sign: "\\" + sign for sign in string.punctuation})

_ACTIVE = re.compile(r"[\\`*_\[\]<>#~$|!^&@]|:(?=[\w/])|(?<=www)\.")  # also icons, colours, bare addresses


def plain(text: str) -> str:
    """Return a text that Markdown shows as it stands; a per cent sign stays on the line of its number."""
    return text.replace(" %", "\u00a0%").translate(_ESCAPED)


def named(text: str) -> str:
    """Return a text for a label: what Markdown would take for markup is escaped, and no more.

    A label is also read aloud as it is written, with every backslash.
    """
    return _ACTIVE.sub(r"\\\g<0>", text)


def answered(sentences: Sequence[str], changes: Sequence[str] = (), lead: int = 1) -> None:
    """Show an answer in words: the caution, the finding, what belongs to it, what would change it.

    Parameters
    ----------
    lead : int
        Sentences that are the finding, the first of them large.
    """
    st.header("The answer")
    caution()
    with st.container(key="lead"):
        st.markdown(plain(sentences[0]))
    for sentence in sentences[1:lead]:
        st.markdown(plain(sentence))
    belonging(sentences[lead:], changes)


def belonging(sentences: Sequence[str], changes: Sequence[str] = ()) -> None:
    """Show what belongs to an answer, and what would change it."""
    listed(sentences)
    if changes:
        st.markdown("**What would change this**")
        listed(changes)


def listed(lines: Sequence[str]) -> None:
    """Show lines of text as a list; nothing when there are none."""
    if lines:
        st.markdown("\n".join(f"- {plain(line)}" for line in lines))


def extrapolated(rows: Iterable[object]) -> None:
    """Say which inputs lie outside the ranges in which they are believed, if any do."""
    if said := ranges.said(ranges.joined(rows)):
        st.warning(plain(said))


def caution() -> None:
    """Show the caution that stands wherever dose or a procedure is shown."""
    st.info(CAUTION, icon=":material/warning:")


def caption_caution() -> None:
    """Show the caution beside a figure, in brief and small."""
    st.caption(f":material/warning: {plain(BRIEF)}")
