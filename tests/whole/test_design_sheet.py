"""The design sheet: everything a designer answers for, in one small file that needs nothing else."""

import html
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


def _rows(found, heading):
    """Return the cells of the table under a heading, as words."""
    part = found[found.index(f"<h2>{heading}") :].split("<h2>")[1]
    return [
        [
            html.unescape(re.sub(r"<[^>]+>", "", cell)).strip()
            for cell in re.findall(r"<t[dh][^>]*>(.*?)</t[dh]>", row, re.S)
        ]
        for row in part.split("</tr>")
        if "<td" in row
    ]


def test_its_criteria_are_those_of_the_check_but_for_what_runs_tell(sheet, capsys):
    assert cli.main(["check", "cottage", "--units", "si", "--json"]) == 3
    checked = json.loads(capsys.readouterr().out)["criteria"]
    rows = _rows(text(sheet), "Criteria")
    assert len(rows) == len(checked)
    told = 0
    for row, one in zip(rows, checked, strict=True):
        assert row[0] == str(one["number"]) and row[1].startswith(one["name"]), one
        if one["state"] == "not known" and row[2] in ("pass", "fail"):
            told += 1  # on paper not known: bad days and the life of cartridges, in runs
            assert row[0] in ("10", "16")
            continue
        assert row[2] == one["state"] and row[5] == one["margin"]
        assert row[3] == (one["said"] or (one["note"] if one["state"] == "not known" else ""))
        assert row[6].endswith(f"{one['source']} [{one['grade']}]")
        assert row[4] == (
            one["wanted"] if one["value"] is not None or one["limit"] is not None else one["formula"]
        )
    assert told == 2


def test_it_says_what_is_of_the_site_and_what_is_taken(sheet):
    found = text(sheet)
    rows = {key: (value, rests) for key, value, rests in _rows(found, "Inputs")}
    assert rows["roof.area"] == ("210.0 m2", "the site's own")
    assert rows["cistern.capacity"] == ("35,000 L", "the site's own")
    assert rows["roof.coefficient"][1].startswith("as in base.toml")
    taken = sum(rests != "the site's own" for _, rests in rows.values())
    assert f"{taken} of the {len(rows)} inputs above are not of this site but taken as in base.toml." in found
    plain = html.unescape(found)
    checked = _rows(found, "Criteria")
    for state, words in (("fail", "These fail and are to be mended or answered for: "),
                         ("not known", "Known, these may turn the verdict: ")):  # fmt: skip
        told = plain[plain.index(words) + len(words) :].split(".\n")[0].split(".<")[0]
        assert told.count("; ") + 1 == sum(row[2] == state for row in checked)
    assert ">SI<" in found


def test_in_the_other_units_it_says_so(tmp_path):
    quick = ["--years", "1", "--replications", "2", "--workers", "1", "--policy", "nothing done"]
    assert cli.main(["sheet", "cottage", *quick, "--units", "us", "--out", str(tmp_path)]) == 0
    found = text(tmp_path)
    assert ">US<" in found and ">SI<" not in found and "nothing done" in found
    assert {key: value for key, value, _ in _rows(found, "Inputs")}["roof.area"] == "2,260 ft2"
