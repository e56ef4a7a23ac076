"""Which ways may leave parts in for longer than the site states them to last, and how that is said."""

from types import SimpleNamespace

import pytest

from sim.cli import main
from sim.constants import DAY_S
from sim.scenario.read.load import load
from sim.scenario.sizing import Alternative
from sim.study.compare.in_time import renewed_in_time
from sim.study.compare.question import CompareQuestion
from sim.study.compare.ways import way
from sim.study.question import Site
from sim.study.runs.means import Means
from sim.study.search.alternatives import choices
from sim.study.search.pool import Arm
from sim.study.size import question as size_question
from sim.study.skip.skipping import skipping
from sim.study.stated_lives import NOT_SIMULATED, lives, lives_note, outlasted, setting_note, skip_note
from sim.study.statistics.intervals import Interval
from tests.changed_site import site
from tests.plain_words import faults

DEMO = load("family_house")
WAYS = {policy.name: policy for policy in DEMO.policies}
ALL = ["the sediment cartridge", "the carbon cartridge", "the UV lamp"]


def test_lives_are_those_of_the_site():
    assert [(life.part, life.span) for life in lives(DEMO)] == list(
        zip(ALL, ["6 months", "8 months", "9,000 h"], strict=True)
    )
    other = site(uv__rated_life="12000 h", stage__sediment__age_limit="50 d")
    assert [life.span for life in lives(other)] == ["50 days", "8 months", "12,000 h"]


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


def compared(best, standings, gaps):
    """A comparison as far as it is looked at: how each way stands, what it costs more than the best."""
    summaries = [
        SimpleNamespace(
            policy=name, standing=standing, cost=SimpleNamespace(estimate=645 + gaps.get(name, 0))
        )
        for name, standing in standings.items()
    ]
    return SimpleNamespace(
        best=best, summaries=summaries,
        choice=SimpleNamespace(
            recommended=best, either=(),
            lead={name: Interval(gap, gap - 20, gap + 20, 0.95, "", 10) for name, gap in gaps.items()},
        ),
        summary=lambda name: next(one for one in summaries if one.policy == name),
    )  # fmt: skip


IN_TIME = DEMO.policies[0].model_copy(update={"name": "in time too"})
WITHIN = dict.fromkeys(("as things fail", "by the calendar", "in time too", "by the readings"), "within")
GAPS = {"by the calendar": 266, "in time too": 200, "by the readings": 100}


def in_time(best="as things fail", standings=WITHIN, gaps=GAPS):
    return renewed_in_time(compared(best, standings, gaps), [*DEMO.policies, IN_TIME], DEMO, "USD")


def test_the_cheapest_way_that_renews_in_time_is_offered_with_what_it_costs_more():
    assert in_time() == (
        "Choose 'in time too' if each part is to fall due within what it is stated to last, for 200 USD a "
        "year more."
    )
    assert faults(in_time()) == []


def test_a_way_that_is_not_within_the_limits_is_not_offered():
    assert "'by the calendar'" in in_time(standings=WITHIN | {"in time too": "undecided"})
    assert in_time(standings=WITHIN | {"in time too": "over", "by the calendar": "over"}) == ""


def test_nor_one_that_was_not_shown_to_cost_more():
    assert "'by the calendar'" in in_time(gaps=GAPS | {"in time too": 15})


def test_nothing_is_offered_where_the_best_renews_in_time_or_none_is_best():
    gaps = {name: 50 for name in WITHIN if name != "by the calendar"}
    assert in_time("by the calendar", gaps=gaps) == ""
    assert in_time(None) == ""


def test_a_choice_of_sizes_tells_it_of_the_way_that_goes_with_it():
    sizes = [Alternative(key="stage.sediment.size", values=("4.5x10", "4.5x20"))]
    made = choices(DEMO, sizes, ["by the calendar", "as things fail"])
    for policy, said in enumerate(["", lives_note([WAYS["as things fail"]], DEMO)]):
        study = SimpleNamespace(found=SimpleNamespace(chosen=Arm(1, policy)))
        assert size_question._lives(study, made) == said
    assert size_question._lives(SimpleNamespace(found=SimpleNamespace(chosen=None)), made) == ""


@pytest.mark.parametrize(
    ("tasks", "from_day", "until_day", "parts"),
    [
        (["change cartridge: carbon"], 0, None, ALL[1:2]),
        (["change cartridge: carbon"], 0, 1, ALL[1:2]),  # changed every 8 months, it lasts 8
        (["change cartridge: sediment"], 0, 60, []),  # every 4 months and 2 more are within 6
        (["change cartridge: sediment"], 0, 62, ALL[:1]),
        (["change cartridge: sediment"], 1050, None, []),  # the run of three years ends before
        (["replace lamp"], 0, 9, []),  # a year of light and 9 days are within 9,000 h
        (["replace lamp"], 0, 10, ALL[2:]),
        (["wipe sleeve"], 0, None, []),
        (["change cartridge"], 0, None, ALL[:2]),
        (["everything"], 0, None, ALL),
    ],
)
def test_a_skip_tells_which_parts_it_leaves_in_for_longer_than_stated(tasks, from_day, until_day, parts):
    left = skipping(
        WAYS["by the calendar"], tasks, from_day * DAY_S, None if until_day is None else until_day * DAY_S
    )
    said = skip_note(left, DEMO, 3)
    assert [part for part in ALL if part in said] == parts
    assert (said == "") is (parts == []) and faults(said) == []


def test_what_no_calendar_renews_is_left_in_by_any_skip_of_it():
    assert "the UV lamp (9,000 h)" in skip_note(
        skipping(WAYS["as things fail"], ["replace lamp"], 0.0, DAY_S), DEMO, 3
    )


def test_the_story_of_a_skip_begins_with_it(capsys, tmp_path):
    words = [
        "skip",
        "cottage",
        "--years",
        "1",
        "--replications",
        "1",
        "--workers",
        "1",
        "--out",
        str(tmp_path),
    ]
    assert main([*words, "--task", "replace lamp"]) == 0
    printed, page = capsys.readouterr().out, (tmp_path / "handout.html").read_text()
    note = "Meanwhile the UV lamp (9,000 h) may stay in for longer than stated."
    for said in (printed, page):
        assert 0 < said.index(note) < said.index("leaves, beside the work done")
