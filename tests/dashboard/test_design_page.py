"""The page of the design shows what the command says, and makes the sheet when it is wished for."""

import json

import pytest

from dashboard import quotations
from sim import cli
from sim.errors import InputError
from sim.scenario.read.load import DEMO, load
from tests.dashboard.driving import opened, read, settled, table_with


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
    said = read(" ".join(item.value for item in page.markdown))
    assert "not known is no pass" in said
    assert "Flow through the UV unit fails" in said


def test_the_sheet_is_offered_once_it_was_asked_for(page):
    assert page.button(key="go-sheet").label == "Make the design sheet"
    assert not page.get("download_button") or all(
        one.proto.label != "The design sheet (HTML)" for one in page.get("download_button")
    )


QUOTES = (
    "item,part,stage,price,currency,date,rated_flow,rated_transmittance,most_pressure\n"
    "small lamp,uv,,400,USD,2026-11-03,3 gpm,75 %,100 psi\n"
    "large lamp,uv,,990,USD,2026-11-03,30 gpm,75 %,\n"
)


def test_quotations_are_held_against_the_criteria_one_by_one(page):
    page.file_uploader(key="quotes").upload("<b>mine.csv", QUOTES.encode(), "text/csv").run()
    shown = table_with(page, "the house fails with it").set_index("item")
    # a rating of 3 gpm is under every peak of the house, one of 30 gpm above them all
    assert "UV flow" in shown.loc["small lamp", "the house fails with it"]
    assert "UV flow" not in shown.loc["large lamp", "the house fails with it"]
    assert "most pressure" in shown.loc["large lamp", "its sheet does not say"]
    assert shown.loc["small lamp", "price"] == "400 USD, 2026-11-03"


@pytest.mark.parametrize(
    ("content", "label", "said"),
    [
        (QUOTES.replace("USD", "EUR"), "mine.csv", "mine.csv: line 2: currency: read 'EUR'; wanted 'USD'"),
        ("item,part\n", "mine.csv", "mine.csv: has a header line only"),
        ("item = 3", "mine.toml", "mine.toml: wanted [[item]] tables and nothing else"),
        (" " * (quotations.LARGEST_BYTES + 1), "mine.csv", "mine.csv: is larger than 1 MB"),
        (
            QUOTES + "".join(f"u{n},uv,,1,USD,2026-11-03,3 gpm,75 %,\n" for n in range(99)),
            "m.csv",
            "101 items",
        ),
    ],
)
def test_a_table_that_cannot_be_used_is_refused_in_one_line(content, label, said):
    with pytest.raises(InputError) as caught:
        quotations.read(content.encode(), label, load(DEMO))
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)
