"""Widgets that several pages have under one key, so that what was said on one is kept on the next.

What a page cannot take, such as one run where a search wants two, gives way to the page's own default. The
widgets that choose from a list do that by themselves.
"""

from typing import Any, TypeVar

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from dashboard.words import named

Number = TypeVar("Number", int, float)
MOST_YEARS, MOST_RUNS, MOST_SEED = 50, 500, 2**31
WORTH = 25.0


def number(
    place: DeltaGenerator, words: str, least: Number, most: Number, default: Number, key: str
) -> Number:
    """Ask for a number that other pages ask for too, perhaps within other limits."""
    kept: Any = st.session_state.get(key)
    if kept is not None and not least <= kept <= most:
        del st.session_state[key]
    found: Number = place.number_input(
        words, least, most, default, key=key, bind="query-params",
        help=f"From {least:,} to {most:,}.",
    )  # fmt: skip
    return found


def runs_and_years(label: str, years: int, runs: int, least_runs: int, words: str) -> tuple[int, int, int]:
    """Ask how long a run is, how many there are, and for the seed.

    Parameters
    ----------
    years, runs : int
        Defaults of the page [year, number].
    """
    left, middle, right = st.expander(label).columns(3)
    return (
        number(left, "Years in a run", 1, MOST_YEARS, years, "years"),
        number(middle, words, least_runs, MOST_RUNS, runs, "runs"),
        seed(right),
    )


def seed(place: DeltaGenerator) -> int:
    """Ask for the random seed."""
    return number(place, "Random seed", 0, MOST_SEED, 1, "seed")


def worth(place: DeltaGenerator, currency: str) -> float:
    """Ask for the least difference of cost that matters."""
    words = f"Least difference that matters, {named(currency)} a year"
    return number(place, words, 1.0, 10_000.0, WORTH, "worth")
