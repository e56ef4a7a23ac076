"""Which ways may leave parts in for longer than the site states them to last, and how that is said."""

import pytest

from sim.cli import main
from sim.scenario.read.load import load
from sim.study.compare.question import CompareQuestion
from sim.study.compare.ways import way
from sim.study.question import Site
from sim.study.runs.means import Means
from sim.study.stated_lives import NOT_SIMULATED, lives, lives_note, outlasted, setting_note
from tests.changed_site import site
from tests.plain_words import faults

DEMO = load("family_house")
WAYS = {policy.name: policy for policy in DEMO.policies}
ALL = ["the sediment cartridge", "the carbon cartridge", "the UV lamp"]


def test_lives_are_those_of_the_site():
    assert [(life.part, life.said) for life in lives(DEMO)] == list(
        zip(ALL, ["6 months", "8 months", "9,000 h"], strict=True)
    )
    other = site(uv__rated_life="12000 h", stage__sediment__age_limit="50 d")
    assert [life.said for life in lives(other)] == ["50 days", "8 months", "12,000 h"]


@pytest.mark.parametrize(
    ("way", "parts"),
    [
        ("by the calendar", []),  # 4 of 6 months, 8 of 8, 12 months of 9,000 h
        ("by the readings", ALL[:2]),  # cartridges by their drop alone
        ("one technician visit a year", ALL[:2]),  # a year is past both age limits
        ("as things fail", ALL),
        ("nothing done", ALL),
    ],
)
def test_only_a_rule_of_the_calendar_within_its_life_keeps_a_part(way, parts):
    assert [life.part for life in outlasted(WAYS[way], DEMO)] == parts


def test_a_rule_that_comes_after_the_life_does_not_keep_it():
    short = site(uv__rated_life="8000 h")
    calendar = next(one for one in short.policies if one.name == "by the calendar")
    assert [life.part for life in outlasted(calendar, short)] == ["the UV lamp"]


def test_the_note_names_parts_with_the_ways_that_leave_them_and_what_is_not_simulated():
    said = lives_note(DEMO.policies, DEMO)
    assert said == (
        "Parts may stay in for longer than they are stated to last: the sediment cartridge (6 months) and "
        "the carbon cartridge (8 months) under 'by the readings', 'one technician visit a year' and "
        "'as things fail'; the UV lamp (9,000 h) under 'as things fail'. " + NOT_SIMULATED
    )
    assert faults(said) == []


def test_nothing_is_said_where_no_way_leaves_anything():
    assert lives_note([WAYS["by the calendar"], WAYS["nothing done"]], DEMO) == ""
    assert setting_note(WAYS["by the calendar"], DEMO) == ""


def test_a_setting_is_told_of_before_it():
    assert setting_note(WAYS["by the readings"], DEMO) == (
        "The setting below may leave in the sediment cartridge (6 months) and the carbon cartridge "
        "(8 months) for longer than stated. " + NOT_SIMULATED
    )


def test_a_plan_for_the_year_tells_of_it_before_its_days(capsys, tmp_path):
    def planned(way):
        folder = tmp_path / way
        assert main(["visits", "--policy", way, "--from", "2027-01-01", "--out", str(folder)]) == 0
        return capsys.readouterr().out, (folder / "plan.html").read_text()

    note = "in the sediment cartridge (6 months) and the carbon cartridge (8 months) for longer than stated"
    printed, page = planned("one technician visit a year")
    assert 0 < printed.index(note) < printed.index("technician: restore")
    assert 0 < page.index(note) < page.index("<table>")
    for said in planned("by the calendar"):
        assert "for longer than stated" not in said


def test_a_comparison_has_the_note_of_its_own_ways_alone_beside_what_its_way_is():
    def said(*ways):
        question = CompareQuestion(site=Site(DEMO), policies=ways, years=1, replications=1, seed=1)
        return question.answer(Means()).sentences

    assert not any("stated to last" in one for one in said("by the calendar"))
    found = said("by the readings", "by the calendar")
    (at,) = (at for at, one in enumerate(found) if "stated to last" in one)
    assert "under 'by the readings'." in found[at]
    assert found[at - 1] in {way(WAYS["by the readings"]), way(WAYS["by the calendar"])}
