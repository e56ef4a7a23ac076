"""Parts that are drawn again by themselves: what of them is lost on its way leaves the rest its place."""

import ast

from streamlit.testing.v1 import AppTest
from streamlit.testing.v1 import local_script_runner as runner

from tests.test_architecture import ROOT

PAGE = """
import streamlit as st
from dashboard import frame
st.text("before")
frame.redrawn(st.text, "part", every_s=60.0)
st.text("behind")
"""


def placed(messages):
    """Lay messages as a browser does: a place behind the last of its block's is none."""
    seen = dict.fromkeys([(0,), (1,), (2,), (3,)], 0)  # the page itself, its sides and foot
    for message in messages:
        *block, at = message.metadata.delta_path
        assert at <= seen[tuple(block)], f"no place for {message.metadata.delta_path}"
        seen[tuple(block)] = max(seen[tuple(block)], at + 1)
        if message.delta.HasField("add_block"):
            seen.setdefault((*block, at), 0)


def test_what_stands_behind_a_part_keeps_its_place_when_the_part_was_not_sent(monkeypatch):
    sent = []
    parse = runner.parse_tree_from_messages
    monkeypatch.setattr(
        runner, "parse_tree_from_messages", lambda messages: sent.extend(messages) or parse(messages)
    )
    assert not AppTest.from_string(PAGE).run().exception
    deltas = [message for message in sent if message.HasField("delta")]
    rest = [message for message in deltas if not message.delta.fragment_id]
    assert len(rest) < len(deltas)
    assert "behind" in str(rest)
    placed(rest)


def test_no_page_has_a_part_that_is_redrawn_otherwise():
    used = [
        f"{path.relative_to(ROOT)}:{node.lineno}"
        for path in (ROOT / "dashboard").rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Attribute) and node.attr == "fragment"
    ]
    assert [place.split(":")[0] for place in used] == ["dashboard/frame.py"]
