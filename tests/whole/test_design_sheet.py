"""The design sheet: everything a designer answers for, in one small file that needs nothing else."""

import json
import re

import pytest

from sim import cli
from sim.study.check.criterion import criteria

MOST_BYTES = 1_000_000


@pytest.fixture(scope="module")
def sheet(tmp_path_factory):
    folder = tmp_path_factory.mktemp("sheet")
    quick = ["--years", "1", "--replications", "3", "--workers", "1"]
    mark = ["--from", "2026-12-01", "--revision", "B2", "--units", "si"]
    words = ["sheet", "cottage", *quick, *mark, "--out", str(folder)]
    assert cli.main(words) == 0
    return folder


def text(sheet):
    return (sheet / "sheet.html").read_text("utf-8")


def test_it_is_small_and_fetches_nothing(sheet):
    found = text(sheet)
    assert len(found.encode()) < MOST_BYTES
    assert "<script" not in found
    assert set(re.findall(r'(?:src|href)="([^"]*)"', found)) == set()


def test_cautions_stand_before_every_number(sheet):
    found = text(sheet)
    assert found.index("Not a water test, not a permit") < found.index("Design flow:") < found.index("<h2>")


def test_it_has_every_part_of_a_sheet(sheet):
    found = text(sheet)
    for heading in (
        "Schematic", "Criteria", "Peak flow, counted in other ways", "Chosen items, EUR", "Inputs",
        "Cost against days below the dose target", "A year of work", "Signed",
        "Assumptions, and what would change the answer",
    ):  # fmt: skip
        assert f"<h2>{heading}" in found
    for mark in (
        "B2",
        "2026-12-01",
        "R1 roof",
        "F1 sediment",
        "F2 carbon",
        "U1 UV unit",
        "Designer, licence, date",
    ):
        assert mark in found


def test_every_criterion_stands_with_its_source_and_the_runs_fill_two(sheet):
    found = text(sheet)
    for one in criteria().values():
        assert one.name.replace("'", "&#39;") in found
    row = re.search(r"<td>16</td>\s*<td>days below the dose target</td><td class=\"state\">([^<]*)<", found)
    assert row is not None
    life = re.search(r"cartridge life in runs</td><td class=\"state\">([^<]*)</td><td>([^<]*)<", found)
    assert life is not None and life[2].endswith(" d")


def test_the_digest_and_seed_say_how_to_make_it_again(sheet):
    manifest = json.loads((sheet / "manifest.json").read_text("utf-8"))
    assert manifest["command"] == "sheet"
    assert manifest["revision"] == "B2"
    assert manifest["scenario_digest"][:16] in text(sheet)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--policy", "by the calender"], "did you mean 'by the calendar'?"),
        (["--revision", "x" * 30], "wanted 1 to 20 characters"),
        (["--replications", "0"], "replications"),
    ],
)
def test_what_cannot_be_made_is_refused_in_one_line(words, said, tmp_path, capsys):
    assert cli.main(["sheet", "cottage", *words, "--out", str(tmp_path / "out")]) == 2
    shown = capsys.readouterr()
    assert said in shown.err and shown.err.count("\n") == 1
