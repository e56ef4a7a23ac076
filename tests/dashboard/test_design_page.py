"""The page of the design shows what the command says, and makes the sheet when it is wished for."""

import json

import pytest

from sim import cli
from tests.dashboard.driving import opened, settled, table_with


@pytest.fixture(scope="module")
def page():
    return settled(opened("views/design.py"))


def test_the_page_shows_the_criteria_of_the_command(page, capsys):
    cli.main(["check", "--json"])
    told = json.loads(capsys.readouterr().out)
    shown = table_with(page, "margin")
    assert list(shown["state"]) == [one["state"] for one in told["criteria"]]
    assert list(shown["value"]) == [one["said"] for one in told["criteria"]]
    assert list(table_with(page, "rests on")["peak flow"]) == [one["name"] for one in told["peaks"]]


def test_what_fails_stands_in_the_answer_before_the_tables(page):
    assert page.header[0].value == "The answer"
    said = " ".join(item.value for item in page.markdown).replace("\\", "")
    assert "not known is no pass" in said
    assert "Flow through the UV unit fails" in said


def test_the_sheet_is_offered_once_it_was_asked_for(page):
    assert page.button(key="go-sheet").label == "Make the design sheet"
    assert not page.get("download_button") or all(
        one.proto.label != "The design sheet (HTML)" for one in page.get("download_button")
    )
