"""The page of evidence is what its command writes, complete, and points only to what is there."""

import json
import re
from dataclasses import replace
from types import SimpleNamespace

import pytest

from tests.evidence import build, glance, measure
from tests.mutation import rooms

PAGE = build.PAGE.read_text(encoding="utf-8")
HAND = {name: build.hand(name) for name in ("intro", "ceiling", "stress_des", "self_score", "limits")}


def cells(part):
    """Rows of the table of a part, without its head."""
    rows = [line.strip("| \n").split(" | ") for line in HAND[part].splitlines() if line.startswith("| ")]
    return rows[1:]


def test_the_page_is_what_its_command_writes():
    assert build.page() == PAGE, f"run {build.COMMAND} and look at the difference"


def test_nothing_on_the_page_fails():
    assert "**fails**" not in PAGE


def test_the_twenty_items_are_answered_with_a_pointer():
    rows = cells("stress_des")
    items = [row[0].split()[0] for row in rows]
    wanted = {1: 3, 2: 5, 3: 4, 4: 3, 5: 4, 6: 1}
    assert items == [f"{part}.{item}" for part, count in wanted.items() for item in range(1, count + 1)]
    assert all(len(row) == 3 and len(row[1]) > 20 and "`" in row[2] for row in rows)


def test_the_eight_factors_are_scored_with_what_is_missing_and_no_average():
    rows = cells("self_score")
    assert len(rows) == 8
    levels = {row[0]: int(row[1]) for row in rows}
    assert all(0 <= level <= 4 for level in levels.values())
    assert levels["Validation"] <= 3  # without household data
    assert all(len(row) == 4 and len(row[3]) > 20 for row in rows)


@pytest.mark.parametrize("part", HAND)
def test_pointers_lead_to_something(part):
    for path in re.findall(
        r"`((?:sim|tests|scenarios|dashboard|\.ci)/[\w./]+|\w+\.(?:md|toml|txt))`", HAND[part]
    ):
        assert (build.ROOT / path.rstrip("/")).exists(), path


@pytest.mark.parametrize("path", sorted(build.RESULTS.glob("*.json")), ids=lambda path: path.stem)
def test_a_long_run_says_what_it_was(path):
    result = json.loads(path.read_text(encoding="utf-8"))
    assert set(result) >= {"what", "command", "date", "figures"}
    assert re.fullmatch(r"\d{4}-\d{2}-\d{2}", result["date"])
    assert isinstance(result["figures"], dict) and result["figures"]


def test_a_run_that_is_missing_is_said_to_be():
    assert build.run_said("coverage", None) == "Not yet run."
    assert glance.verdict("coverage", None) == "not yet run"


def test_a_check_that_failed_or_is_of_other_code_is_said_to_be():
    good = {"code": measure.source("coverage"), "checks": 3, "failed": [], "figures": {}}
    assert glance.verdict("coverage", good) == "holds"
    assert glance.verdict("coverage", {**good, "failed": ["mean"]}) == "**does not hold**: 1 of 3"
    assert glance.verdict("coverage", {**good, "code": "0" * 12}) == "holds; measured on other code"
    share = "share killed, all mutants counted"
    assert glance.verdict("mutation", {"figures": {share: 0.899}}).startswith("**does not hold**")
    assert glance.verdict("mutation", {"figures": {share: 0.9}}).startswith("holds")


def test_samples_of_other_files_are_said_where_they_fall_short(monkeypatch):
    one = rooms.Tried("sim/cli.py", rooms.digest("sim/cli.py"), 1000, 200, 160, 0, "2026-11-27")
    result = {"figures": {"share killed, all mutants counted": 0.95}}
    short, untold = "; **does not hold** over the other files", "; over the other files it cannot be told"
    for killed, said in ((155, short), (170, untold), (185, "")):
        monkeypatch.setattr(rooms, "kept", lambda killed=killed: [replace(one, killed=killed)])
        assert glance.verdict("mutation", result) == f"holds{said}"
    assert one.is_of_this_code and not replace(one, code="0" * 12).is_of_this_code


def test_a_share_over_files_weighs_them_by_their_mutants_and_is_surer_the_more_were_tried():
    few = [rooms.Tried(f"sim/a/{n}.py", "", 40, 4, 4 - n % 2, 0, "") for n in range(50)]
    large = rooms.Tried("sim/a/large.py", "", 2000, 20, 10, 0, "")
    assert rooms.share(few).share == pytest.approx(0.875)
    assert rooms.share([*few, large]).share == pytest.approx((0.875 + 0.5) / 2)
    width = [found.high - found.low for found in map(rooms.share, (few[:25], few))]
    assert width[1] < width[0]
    # Drawn with this share, by hand: sqrt(0.875 * 0.125 * 0.9 / 200) to each side, 1.96 times.
    assert width[1] == pytest.approx(2 * 1.96 * (0.875 * 0.125 * 0.9 / 200) ** 0.5, rel=0.03)


def test_intervals_that_hold_too_seldom_are_named():
    said = "days, 10 runs: held in {} to 97.0 %, share of people, 40 runs: held in 95.0 to 99.0 %"
    code = measure.source("by_cause")
    for low, verdict in ((92.9, "**does not hold** for days"), (93.0, "holds")):
        result = {"code": code, "checks": 1, "failed": [], "figures": {"a": said.format(low)}}
        assert glance.verdict("by_cause", result) == verdict
    assert glance.found("by_cause", result).endswith("share of people: held in 95 to 99 % of draws")


def test_patterns_that_were_set_to_be_met_do_not_count():
    code = measure.source("patterns")
    six = {"code": code, "checks": 6, "failed": [], "figures": {f"pattern {n}": "" for n in range(6)}}
    assert glance.verdict("patterns", six) == "holds"
    one_set = dict.fromkeys([*list(six["figures"])[:5], next(iter(glance.CALIBRATED))], "")
    said = glance.verdict("patterns", {**six, "figures": one_set})
    assert said == "**does not hold**: 5 of 6 independent"


def test_what_is_said_to_be_set_is_a_pattern_that_is_checked():
    kept = json.loads((build.RESULTS / "patterns.json").read_text(encoding="utf-8"))
    assert set(glance.CALIBRATED) <= set(kept["figures"])


@pytest.mark.parametrize("ended", [-15, 2, 5])
def test_a_piece_that_was_cut_off_is_not_kept(ended, monkeypatch, tmp_path):
    def cut_off(line, **more):
        report = next(word for word in line if word.startswith("--junitxml="))
        with open(report.removeprefix("--junitxml="), "w", encoding="utf-8") as file:
            file.write('<testsuite><testcase name="test_a"/></testsuite>')
        return SimpleNamespace(returncode=ended)

    monkeypatch.setattr(measure, "PIECES", tmp_path)
    monkeypatch.setattr(measure.subprocess, "run", cut_off)
    with pytest.raises(SystemExit, match=f"ended with {ended}"):
        measure.piece("coverage", 0, ("tests",))
    assert list(tmp_path.glob("*.xml")) == []


def test_words_alone_do_not_make_it_other_code():
    plain = "def f():\n    return 1\n"
    worded = '"""A file."""\n\n# why\ndef f():\n    """Return one."""\n    return 1\n'
    assert measure.code(plain, ".py") == measure.code(worded, ".py")
    assert measure.code(plain, ".py") != measure.code(plain.replace("1", "2"), ".py")


def test_the_first_thirty_lines_say_what_holds_and_where_it_ends():
    top = PAGE.splitlines()[:30]
    assert [line for line in top if line.startswith("| published |")]
    assert all(any(line.startswith(f"| {build.spoken(name)} |") for line in top) for name in glance.ASKED)
    assert any("validation 2 of" in line for line in top)
    levels = {row[0]: row[1] for row in cells("self_score")}
    assert (levels["Validation"], levels["Input pedigree"]) == ("2", "1")  # as the lines above say


def test_the_page_can_be_found_wanting(monkeypatch):
    monkeypatch.setattr(build, "ACCURACY", build.HERE / "nowhere.csv")
    monkeypatch.setattr(build, "published", lambda: "")
    page = build.page()
    assert page != PAGE
    assert "Not yet stated." in page
