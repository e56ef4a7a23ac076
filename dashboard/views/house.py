"""What is this house like? The values that matter when people decide, for changing."""

import streamlit as st

from dashboard.change import draft, form
from dashboard.change.changes import applied
from dashboard.change.fields import Path, Value, field_at, key_of, read
from dashboard.change.value_groups import of_use, offered
from dashboard.words import caution


def page() -> None:
    """Show the values under the questions they come with."""
    st.title("What is this house like?")
    st.caption(
        "Open a question and change what you know better. Every page then speaks of the changed house. "
        "Write a value with any unit of its kind; the question mark says which, and its limits. A field that "
        "says none stands for what the house has not: fill it to add one, empty it to take it away."
    )
    caution()
    found = draft.current()
    tables = applied(found.chosen.tables, found.changes)
    for question, keys in offered(found.chosen.tables).items():
        part = st.expander(question, key=f"question-{question}", on_change="rerun")
        if not part.open:  # a hundred widgets nobody looks at would make every click wait
            continue
        with part:
            pairs = [(path, words) for path, words in keys.items() if of_use(tables, path)]
            for first in range(0, len(pairs), 2):
                for column, (path, words) in zip(st.columns(2), pairs[first : first + 2], strict=False):
                    with column:
                        _ask(found, path, words, read(tables, path))


def _ask(found: draft.Draft, path: Path, words: str, value: object) -> None:
    field = field_at(path)
    was = read(found.chosen.tables, path)
    default = field.default if value is None else value

    def keep(typed: Value) -> None:
        draft.put(found.changes.with_value(path, typed))

    form.ask(field, words, default, was, found.units, f"value-{key_of(path)}", keep)


page()
