"""One widget for one key of the schema: switch, choice, number or its name, or quantity with its unit."""

from collections.abc import Callable
from typing import Any

import streamlit as st
from pydantic import TypeAdapter, ValidationError

from dashboard.change.fields import LEFT_OUT, Field, Value, as_typed, said, said_limits, unit_for
from dashboard.words import named
from sim.units import units_of

Keep = Callable[[Value], None]


def ask(field: Field, words: str, value: object, was: object, system: str, key: str, keep: Keep) -> None:
    """Show a value for changing; what is typed is kept as a file would write it, right or wrong.

    Parameters
    ----------
    system : str
        "us" or "si".
    """
    unit = unit_for(field, was if was is not None else value, system)
    label, helped = named(words), _help(field, unit)

    def read() -> None:
        typed: Any = st.session_state[key]
        if typed is None and not field.optional:
            return
        if typed is None:
            typed = LEFT_OUT
        keep(as_typed(field, typed, unit) if isinstance(typed, str) else typed)

    if field.type is bool:
        st.session_state[key] = _coerced(bool, value, False)
        st.toggle(label, key=key, on_change=read)
    elif field.choices:
        st.session_state[key] = value if value in field.choices else field.choices[0]
        st.selectbox(label, field.choices, key=key, on_change=read)
    elif field.names:
        shown = said(field, value, unit)
        st.session_state[key] = shown
        options = list(dict.fromkeys([shown, *field.names]))
        st.selectbox(label, options, key=key, help=helped, on_change=read, accept_new_options=True)
    elif field.kind is None and field.type is not str:
        whole = field.type is int
        absent = field.optional and value in (None, LEFT_OUT)
        number = None if absent else _coerced(int if whole else float, value, 0)
        st.session_state[key] = number
        st.number_input(
            label, None, None, None if field.optional else "min", 1 if whole else _step(number or 0.0),
            "%d" if whole else "%g", key=key, help=helped, on_change=read,
            placeholder="none" if field.optional else None,
        )  # fmt: skip
    else:
        st.session_state[key] = said(field, value, unit)
        st.text_input(
            label, key=key, help=helped, on_change=read, max_chars=100,
            placeholder="none" if field.optional else None,
        )  # fmt: skip


def _help(field: Field, unit: str) -> str:
    """Return limits and units that are taken, both as the schema has them."""
    parts = [said_limits(field, unit)]
    if field.kind:
        units = [word or "plain" for word in units_of(field.kind)]
        parts.append(f"{field.kind}, in {', '.join(units)}; a bare number is in {unit}")
    return named("; ".join(filter(None, parts)))


def _step(number: float) -> float:
    if number >= 100:
        return 10.0
    return 1.0 if number >= 5 else 0.1 if number >= 0.5 else 0.01


def _coerced(sort: type, value: object, otherwise: Any) -> Any:
    try:
        return TypeAdapter(sort).validate_python(value)
    except ValidationError:
        return otherwise
