"""What this visitor changed of the site they chose: kept for the session, and in its address when it fits."""

from dataclasses import dataclass

import streamlit as st

from dashboard.change.address import LONGEST, decoded, encoded
from dashboard.change.changes import Change, Changes, listed, settled
from dashboard.change.fields import key_of
from dashboard.change.value_groups import offered, paths_of
from dashboard.site import Site
from dashboard.words import plain
from sim.errors import InputError
from sim.units import Units

EDITS = "edits"  # as it stands in the address
_MOST_KEPT = 8  # sites one visitor has changed


@dataclass(frozen=True)
class Draft:
    """A site as chosen, and what was changed of it."""

    chosen: Site
    changes: Changes  # what differs
    units: Units


def begin(chosen: Site, units: Units) -> Draft:
    """Return the draft of a site, from the address when the visitor has just come.

    Refused in one line, when the address is damaged.
    """
    kept: dict[str, Changes] | None = st.session_state.get("changes")
    if kept is None:
        code = st.query_params.get(EDITS)
        found = Changes()
        if code and not chosen.uploaded:
            found, made_on = decoded(code, paths_of(chosen.tables), chosen.scenario)
            st.session_state["made_elsewhere"] = not chosen.digest.startswith(made_on)
            found = settled(chosen.tables, found)
        kept = {chosen.key: found}
        st.session_state["changes"] = kept
    draft = Draft(chosen, kept.get(chosen.key, Changes()), units)
    st.session_state["draft"] = draft
    return draft


def current() -> Draft:
    """Return the draft of the page; the page ends here when there is none."""
    found: Draft | None = st.session_state.get("draft")
    if found is None:
        st.stop()
    return found


def put(changes: Changes) -> None:
    """Keep changes of the chosen site."""
    draft: Draft = st.session_state["draft"]
    kept: dict[str, Changes] = st.session_state["changes"]
    kept.pop(draft.chosen.key, None)
    kept[draft.chosen.key] = settled(draft.chosen.tables, changes)
    for key in list(kept)[:-_MOST_KEPT]:
        del kept[key]


def forget_address() -> None:
    """Go on without the changes of an address that cannot be read."""
    st.session_state["changes"] = {}


def tell(draft: Draft) -> None:
    """Say what was changed, offer to put it back, and bring the address up to date."""
    code = encoded(draft.changes, draft.chosen.digest) if draft.changes else ""
    fits = bool(code) and not draft.chosen.uploaded and len(code) <= LONGEST
    _address(code if fits else "")
    if not draft.changes:
        return
    found = listed(draft.chosen.tables, draft.changes, draft.units)
    words = {key_of(p): w for keys in offered(draft.chosen.tables).values() for p, w in keys.items()}
    many = "1 change" if len(found) == 1 else f"{len(found)} changes"
    st.markdown(f"**{many}** against the house as chosen.")
    with st.expander("What was changed", key="what-was-changed"):
        for number, change in enumerate(found, 1):
            _line(number, change, words.get(change.key, ""))
        st.button("Put all back", key="put-back-all", on_click=put, args=(Changes(),))
        st.caption(_passing_on(draft.chosen, fits))
    if st.session_state.get("made_elsewhere"):
        st.warning("The changes in this address were made on another edition of this house.")


def _line(number: int, change: Change, words: str) -> None:
    left, button = st.columns([3, 1], vertical_alignment="center")
    head = f"**{plain(words or change.key)}**" + (f" ({plain(change.key)})" if words else "")
    left.markdown(f"{number}. {head}  \nwas: {plain(change.was)}  \nis: {plain(change.now)}")
    button.button(f"Put back {number}", key=f"put-back-{number}", on_click=put, args=(change.back,))


def _passing_on(chosen: Site, fits: bool) -> str:
    sent = ["the site file of the comparison page, which holds the changes"] if not fits else []
    sent += ["the rain file"] if chosen.rain_uploaded else []
    if not sent:
        return "The address of this page holds these changes: whoever opens it sees the same."
    why = "An uploaded file cannot be in an address" if chosen.uploaded else "The changes are too many"
    head = "The address holds the changes, but not the rain" if fits else why
    return f"{head}: to show a colleague the same, send along {' and '.join(sent)}."


def _address(code: str) -> None:
    if code and st.query_params.get(EDITS) != code:
        st.query_params[EDITS] = code
    elif not code and EDITS in st.query_params:
        del st.query_params[EDITS]


def refused(error: InputError) -> None:
    """Show why an address cannot be read, and a way on."""
    st.error("This cannot be used:", icon=":material/error:")
    st.text(str(error))
    st.button("Go on with the house as it is", key="forget-address", on_click=forget_address)
