"""A figure on a page: what it says, the picture, its table, a download of the table."""

import streamlit as st

from dashboard import keep
from dashboard.words import caption_caution, plain
from sim.report.figures.comparison_figures import Plate, readable
from sim.report.figures.style import PLOT


def show(plate: Plate) -> None:
    """Show a figure with its table under it."""
    st.header(plate.title)
    if plate.note:
        st.caption(plain(plate.note))
    if plate.shows_dose:
        caption_caution()
    st.plotly_chart(plate.figure, theme=None, config=PLOT, key=f"figure-{plate.name}", alt=plate.alt)
    table = readable(plate.table)
    st.dataframe(table, hide_index=True, key=f"table-{plate.name}", alt=f"{plate.title}: {len(table)} rows")
    keep.table_download("This table (CSV)", plate.table, plate.name, **keep.SMALL)
