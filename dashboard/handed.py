"""What a trainer hands over hidden: it stays on this server, and the address holds nothing but its number."""

import secrets
from contextlib import suppress
from typing import Any, NoReturn

import streamlit as st
from streamlit.errors import StreamlitAPIException

ADDRESS = "handed"  # as it stands in the address
LOST = "What was handed over here is no longer kept: the server was started anew. Ask for it once more."
_MOST_KEPT = 1000  # the oldest goes first


@st.cache_resource
def _kept() -> dict[str, dict[str, Any]]:
    return {}


def over(values: dict[str, Any]) -> None:
    """Keep values here, and put the number of them into the address in place of what they say."""
    kept, name = _kept(), secrets.token_urlsafe(9)
    kept[name] = values
    for key in list(kept)[:-_MOST_KEPT]:
        del kept[key]
    # Each change of the address is sent with all that still stands in it: what is done goes first.
    said = [key for key in values if key in st.query_params]
    for key in sorted(said, key=lambda key: isinstance(values[key], str | int)):
        with suppress(StreamlitAPIException):  # of a widget that stood there: it goes with the widget
            del st.query_params[key]
    st.query_params[ADDRESS] = name


def taken(*keys: str) -> dict[str, Any] | None:
    """Return what is handed over at this address for a page that asks by some keys; None when nothing is."""
    found = _kept().get(st.query_params.get(ADDRESS, ""))
    return found if found is not None and set(keys) <= set(found) else None


def stands() -> bool:
    """Return whether the address says that something is handed over."""
    return ADDRESS in st.query_params


def back(page: str, values: dict[str, Any]) -> NoReturn:
    """Open the page anew with the values in its address, where its widgets find them."""
    stay = {key: st.query_params[key] for key in ("site", "units") if key in st.query_params}
    said = {key: value if isinstance(value, list) else str(value) for key, value in values.items()}
    st.switch_page(page, query_params={**stay, **said})
