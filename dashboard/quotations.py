"""A table of quotations that a visitor uploads: read or refused, and each item held against the criteria."""

import tempfile
from collections.abc import Sequence
from pathlib import Path

import pandas as pd
import streamlit as st

from dashboard.site import Site
from sim.errors import InputError
from sim.scenario.quotation import Item
from sim.scenario.read.quotations import read_quotations
from sim.scenario.read.refusal import one_line
from sim.scenario.scenario import Scenario
from sim.study.search.alternatives import choices
from sim.study.search.quoted import alternatives
from sim.study.size.paper import held
from sim.study.wording import listed

LARGEST_BYTES = 1024 * 1024
MOST_ITEMS = 100


def read(content: bytes, label: str, scenario: Scenario) -> tuple[Item, ...]:
    """Read a table of quotations; refused in one line that names the file."""
    called = one_line(label)
    if len(content) > LARGEST_BYTES:
        raise InputError(f"{called}: is larger than {LARGEST_BYTES // 1024**2} MB; wanted a smaller file")
    with tempfile.TemporaryDirectory() as folder:  # never under the name a visitor gave
        path = Path(folder) / ("quotes.toml" if label.lower().endswith(".toml") else "quotes.csv")
        path.write_bytes(content)
        try:
            items = read_quotations(path, scenario.prices.currency, scenario.stage_names)
        except InputError as error:
            said = str(error).replace(str(path), called).replace(path.name, called)
            raise InputError(one_line(said)) from None
    if len(items) > MOST_ITEMS:
        raise InputError(f"{called}: holds {len(items)} items; wanted {MOST_ITEMS} or fewer")
    return items


def table(site: Site, items: Sequence[Item]) -> pd.DataFrame:
    """Return a row an item: its price, the criteria the house fails with it, what its sheet does not say."""
    lines = []
    for item in items:
        made = choices(site.scenario, alternatives([item]), [], [item])
        fails = held(made, site.rain, [item]).shared
        lines.append(
            {
                "item": item.name,
                "for": item.stage or item.part,
                "price": f"{item.price:g} {item.currency}, {item.date}",
                "the house fails with it": listed(list(fails)) or "nothing that is known",
                "its sheet does not say": listed([key.replace("_", " ") for key in item.missing]),
            }
        )
    return pd.DataFrame(lines)


def ask(site: Site) -> pd.DataFrame | None:
    """Ask for a table of quotations and hold its items against the criteria; None where there is none."""
    file = st.file_uploader(
        "Table of quotations (CSV or TOML, one row an item, 1 MB at most)", type=["csv", "toml"],
        key="quotes", max_upload_size=1,
    )  # fmt: skip
    if file is None:
        return None
    try:
        return table(site, read(file.getvalue(), file.name, site.scenario))
    except InputError as error:
        st.error("This cannot be used:", icon=":material/error:")
        st.text(str(error))
        return None
