"""The frame of every page: which house, which rain, which units."""

import uuid
from collections.abc import Callable, Sequence

import streamlit as st
from streamlit.navigation.page import StreamlitPage

from dashboard.change import draft
from dashboard.gate import VISITOR
from dashboard.jobs.job_table import Asked, JobTable
from dashboard.site import Site, changed, site_of
from dashboard.words import plain
from sim.errors import InputError
from sim.report.figures.style import scheme_css
from sim.scenario.read import load
from sim.study import rain_record
from sim.study.taken import own_summary
from sim.units import Units

ARRIVED = "arrived"  # whether this is the first run of a page somebody came to
UNITS = ("US", "SI")  # as they stand in the address
PAGE_CSS = """
.stMainBlockContainer {max-width: 60rem; padding: 3rem 1rem 4rem;}
/* Lines of text stay short enough to read; figures and tables take all the width. */
[data-testid="stMarkdownContainer"] :is(p, li, blockquote) {max-width: 46rem;}
h1, h2, h3 {line-height: 1.3 !important;}
/* What is folded away is not there: neither for the eye nor for what looks at words. */
details:not([open]) > :not(summary) * {visibility: hidden !important;}
[data-testid="stSkipToContent"]:not(:focus) {margin: 1px; clip-path: inset(50%);}
[data-testid="stButtonGroup"] button[aria-checked="true"] {
  background: light-dark(#eaf3f9, #17303f) !important;}
h1 {font-size: 2rem !important; padding-top: 0.5rem !important;}
h2 {font-size: 1.5rem !important;}
h3 {font-size: 1.25rem !important;}
.st-key-lead p {font-size: 1.15rem; line-height: 1.45; font-weight: 500;}
.st-key-links {gap: 0.25rem;}
.st-key-which {flex-wrap: nowrap !important;}
@media (max-width: 640px) {
  h1 {font-size: 1.5rem !important;}
  h2 {font-size: 1.3rem !important;}
  .stMainBlockContainer {padding-top: 2.75rem;}
  /* Nine links in three rows, each of a finger's height. */
  .st-key-links {display: grid !important; grid-template-columns: repeat(3, 1fr);}
  .st-key-links > *, .st-key-links [data-testid="stPageLink"], .st-key-links a {width: 100% !important;}
  .st-key-links a {justify-content: center; align-items: center; min-height: 2.75rem; padding: 0.1rem 0.2rem;}
  .st-key-links a * {white-space: normal !important; text-align: center; line-height: 1.15;
    font-size: 0.8rem;}
}
/* Under a finger the tools of a table lie on the figure above it, and nothing takes them away. */
@media (hover: none) {[data-testid="stElementToolbar"] {display: none !important;}}
/* The first colour of the dark theme is light: words on it are dark. */
[data-testid="stBaseButton-primary"]:enabled p, [data-testid="stBaseButton-primaryFormSubmit"] p,
[data-testid="stMultiSelectTagsContainer"] span,
[data-testid="stMultiSelectTagsContainer"] svg {color: light-dark(#ffffff, #10161b) !important;}
"""


LOOK_S, SELDOM_S = 0.25, 1.0  # between two looks at a job, before and after a first answer was shown


@st.cache_resource
def jobs() -> JobTable:
    """Return the table of jobs all visitors share."""
    return JobTable()


def start(asked: Asked) -> None:
    """Ask a question, or for a report; where there is no room for it, the page says why."""
    visitor = st.context.cookies.get(VISITOR) or st.session_state.setdefault("visitor", uuid.uuid4().hex)
    try:
        jobs().start(asked, visitor)
    except InputError as error:
        st.session_state["no_room"] = str(error)


def tell_no_room() -> None:
    """Say once that there was no room for a question."""
    if said := st.session_state.pop("no_room", ""):
        st.warning(f"Not asked: {said}.")


def arrive(page: StreamlitPage) -> None:
    """Note whether somebody came to a page just now, from another or by its address."""
    st.session_state[ARRIVED] = st.session_state.get("page") != page.title
    st.session_state["page"] = page.title


def links(pages: Sequence[StreamlitPage]) -> None:
    """Show a link to each page, on any width; house and units go along, as every page asks for them."""
    st.html(f"<style>{scheme_css()}{PAGE_CSS}</style>")
    with st.container(horizontal=True, gap="small", key="links"):
        for page in pages:
            st.page_link(page)


def show() -> None:
    """Ask for the house and its units; what was chosen is kept for the page that follows."""
    names = list(load.built_in())
    with st.container(horizontal=True, vertical_alignment="bottom", key="which"):
        name = st.selectbox(
            "House", names, names.index(load.DEMO), format_func=_title, key="site", bind="query-params"
        )
        units = st.segmented_control(
            "Units", UNITS, default="US", key="units", bind="query-params", required=True, width="content"
        )
    with st.expander("Your own house or rain"):
        file = st.file_uploader("Site file (TOML, 5 MB at most)", type="toml", key="toml", max_upload_size=5)
        rain = st.file_uploader(
            "Daily rain (CSV with date and precipitation, 5 MB at most)", type="csv", key="rain",
            max_upload_size=5,
        )  # fmt: skip
        st.caption("Files stay on this machine. An address can be passed on, an uploaded file cannot.")
    st.session_state["chosen_units"] = units
    st.session_state.update(chosen_site=None, draft=None)
    try:
        found = site_of(
            name or load.DEMO,
            file.getvalue() if file else None, file.name if file else "",
            rain.getvalue() if rain else None, rain.name if rain else "",
        )  # fmt: skip
    except InputError as error:
        _refused(error)
        return
    summary = plain(own_summary(found.scenario, not found.uploaded))
    if found.uploaded:
        st.markdown(f"From your file: **{plain(found.scenario.name)}**. {summary}".strip())
    else:
        st.caption(summary)
    if found.rain is not None:
        first, last = found.rain.dates[0], found.rain.dates[-1]
        st.caption(f"Rain from a record: {first} to {last}, {len(found.rain.dates):,} days.")
        st.caption(plain(" ".join(rain_record.said(found.rain))))
    _with_changes(found)


def _with_changes(chosen: Site) -> None:
    """Lay what the visitor changed over the house; what is refused can still be put back."""
    try:
        found = draft.begin(chosen, units())
    except InputError as error:
        draft.refused(error)
        return
    try:
        st.session_state["chosen_site"] = changed(chosen, found.changes)
    except InputError as error:
        _refused(error)
    draft.tell(found)


def _refused(error: InputError) -> None:
    st.error("This cannot be used:", icon=":material/error:")
    st.text(str(error))


def site() -> Site:
    """Return the site that was chosen; the page ends here when it cannot be used."""
    found: Site | None = st.session_state.get("chosen_site")
    if found is None:
        st.stop()
    return found


def units() -> Units:
    """Return the units that were chosen."""
    return "si" if st.session_state.get("chosen_units") == "SI" else "us"


def redrawn(part: Callable[..., None], *args: object, every_s: float | None = None) -> None:
    """Draw a part that is drawn again without the rest of its page, every so often where asked to.

    In a block of its own: streamlit throws away what was not yet sent of a part that begins to be drawn
    again, the part's own block too. What stands behind it would then have no place, and the page breaks.
    """
    with st.container():
        st.fragment(part, run_every=every_s)(*args)


def follow(key: str, noun: str, shown: int | None = None) -> None:
    """Show how far a job is while it is under way; the page is run again when it ends.

    Also when there is another rough answer than those the page has shown.
    """
    job = jobs().get(key)
    if job is not None and job.active:
        # Each look draws a bar anew, which takes the workers' time.
        every_s = SELDOM_S if shown else LOOK_S
        redrawn(_progress, key, noun, shown, every_s=every_s)


def _progress(key: str, noun: str, shown: int | None) -> None:
    job = jobs().get(key)
    if job is None or not job.active or (shown is not None and job.handed_on > shown):
        st.rerun()
    assert job is not None
    if job.stop.is_set():
        said = "Stopping; what is under way is finished first."
    elif job.state == "waiting":
        said = "Waiting for a place: other questions are being worked on."
    elif job.left_s is not None and job.done < job.wanted:
        left_s = max(1, round(job.left_s))
        said = f"{noun}: {job.done} of {job.wanted} at most; up to {left_s} s more."
    else:
        said = f"{noun}: under way."
    st.progress(job.done / job.wanted if job.wanted else 0.0, text=said)
    # By callback: it is called before anything above may run the page again, which would lose the press.
    st.button("Stop", key=f"stop-{key}", disabled=job.stop.is_set(), on_click=jobs().cancel, args=(key,))


def _title(name: str) -> str:
    return name.replace("_", " ").capitalize()
