"""Adding a line to what a search chooses between, without knowing the keys of a site's file."""

import streamlit as st

from dashboard.change.value_groups import QUESTIONS
from dashboard.words import plain
from sim.scenario.scenario import Scenario
from sim.study.search.catalogue import table

_EACH, _OF_ALL, _NAMES = "stage.*.", "stage[*].", {"size": "nominal cartridge size"}


def offered(scenario: Scenario) -> dict[str, str]:
    """Return what the table of sizes knows how to scale, as keys of a site's file with words for each."""
    words = {key: said for part in QUESTIONS.values() for key, said in part.items()}
    found = {}
    for key in table()["follows"]:
        if not key.startswith(_EACH):
            found[key] = words.get(key, key)
            continue
        last = key.removeprefix(_EACH)
        said = _NAMES.get(last) or words.get(_OF_ALL + last, last)
        found |= {f"stage.{stage.name}.{last}": f"{stage.name}: {said}" for stage in scenario.stages}
    return found


def with_line(text: str, key: str, values: str) -> str:
    """Return lines of alternatives with one more, in place of that of the same key.

    Parameters
    ----------
    text : str
        Lines such as "uv.rated_flow=6 gpm,8 gpm".

    Examples
    --------
    >>> with_line("uv.rated_flow=6 gpm,8 gpm", "uv.rated_flow", "8 gpm, 12 gpm")
    'uv.rated_flow=8 gpm, 12 gpm'
    """
    kept = [line for line in text.splitlines() if line.strip() and line.partition("=")[0].strip() != key]
    return "\n".join([*kept, f"{key}={values.strip()}"])


def ask(scenario: Scenario) -> None:
    """Offer to add a line."""
    known = offered(scenario)
    with st.expander("Add something to choose between"):
        left, right = st.columns(2)
        key = left.selectbox("What", list(known), format_func=lambda one: known.get(one, one), key="add-what")
        sizes = ", ".join(table()["cartridge"])
        values = right.text_input(
            "Sizes to try, with commas between them", key="add-values", max_chars=200,
            help=plain(f"With their unit, such as 44 gal, 86 gal. Cartridges: {sizes}. Housings: 1, 2."),
        )  # fmt: skip
        st.button("Add it", key="add-try", disabled=not values.strip(), on_click=_add, args=(key, values))


def _add(key: str, values: str) -> None:
    st.session_state["tries"] = with_line(st.session_state.get("tries") or "", key, values)
    st.session_state["add-values"] = ""
