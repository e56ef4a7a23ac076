"""What if nobody does it, run as the server runs it: words and numbers are those of the two histories."""

import pytest

from sim.cli import parser
from sim.outcome.frames import days_frame
from sim.scenario.read import load
from sim.study.runs.replicate import study
from sim.study.runs.request import Design, Inputs
from sim.study.skip.skip_words import answer
from sim.study.skip.skipping import ends, moment_s, skipping
from sim.study.skip.story import tell
from sim.twin.run import common_inputs, run
from tests.dashboard.driving import opened, read, settled

YEARS, RUNS, SEED, FROM = 1, 2, 4, 2


def words(at):
    return [read(item.value) for item in at.markdown]


@pytest.fixture(scope="module")
def page():
    at = opened(
        "views/skipped_work.py", years=str(YEARS), runs=str(RUNS), seed=str(SEED), **{"from": str(FROM)}
    )
    assert not at.exception
    return settled(at.button(key="go-skip").click().run())


@pytest.fixture(scope="module")
def direct():
    scenario = load.load(load.DEMO)
    kept = scenario.policies[0]
    from_s = moment_s(f"month {FROM}", scenario.start, YEARS, "from")
    left = skipping(kept, ["wipe sleeve"], from_s, None)
    common = common_inputs(scenario, 0, SEED, YEARS)
    runs = (run(scenario, kept, common), run(scenario, left, common))
    rows = study(Design("house", scenario, (kept, left)), Inputs(SEED, YEARS), RUNS).rows
    said = answer(ends(rows, kept.name, left.name), scenario, left)
    return scenario, runs, tell(*runs, left, "us"), said


def test_the_answer_and_the_story_are_those_of_the_runs(page, direct):
    _, _, story, said = direct
    assert page.header[0].value == "The answer"
    assert said in words(page)
    assert "\n".join(f"- {line}" for line in story.summary) in words(page)
    assert any("local codes and licensed practice" in item.value.lower() for item in page.info)


def test_each_month_shows_the_train_of_its_last_day(page, direct):
    _, runs, story, _ = direct
    skipped = days_frame(runs[1])
    for at in (1, len(story.months)):
        page.slider(key="month").set_value(at).run()
        assert not page.exception
        month = story.months[at - 1]
        assert any(
            f"{month.first:%B %Y}" in line and f"(month {month.number} " in line for line in words(page)
        )
        day = skipped[skipped["date"].dt.month == month.first.month].iloc[-1]
        html = next(item.proto.body for item in page.get("html") if "<ol" in item.proto.body)
        assert f"<dt>reading</dt><dd>{100 * day['uv_reading']:.0f} %" in html
        assert "<dt>least dose of the day</dt>" in html
    assert len(story.months) == 12 - FROM + 1


def test_page_and_command_take_runs_of_the_same_length():
    """So that a trainer who does not ask for a length is told the same story twice."""
    asked, at = parser().parse_args(["skip"]), opened("views/skipped_work.py")
    assert at.number_input(key="years").value == asked.years
    assert at.number_input(key="runs").value == asked.replications


def test_a_span_that_ends_before_it_begins_is_refused_in_one_line():
    at = opened("views/skipped_work.py", years="1", **{"from": "5", "until": "4"})
    assert not at.exception
    assert any("Until month is 4" in read(item.value) for item in at.warning)
