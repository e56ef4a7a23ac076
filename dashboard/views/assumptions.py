"""What does the answer rest on? Sources, assumptions, limits, cautions, and every value of the site."""

from pathlib import Path

import pandas as pd
import streamlit as st

from dashboard import frame, keep
from dashboard.words import caution
from sim.scenario.values.value_list import values

TEXT = Path(__file__).parents[1] / "text"
PARTS = ("sources.md", "assumptions.md", "limits.md", "cautions.md")


def page() -> None:
    """Show the texts, then the table."""
    st.title("What does the answer rest on?")
    caution()
    for name in PARTS:
        st.markdown((TEXT / name).read_text(encoding="utf-8"))
    site = frame.site()
    st.header("Every value of this site")
    st.caption(
        "In the units chosen above where people have a usual one. Grades stand in scenarios/base.toml."
    )
    table = pd.DataFrame(values(site.scenario, frame.units()), columns=["key", "value"])
    st.dataframe(table, hide_index=True, key="table-values", alt=f"{len(table)} values of the site")
    keep.table_download("The values (CSV)", table, "values")


page()
