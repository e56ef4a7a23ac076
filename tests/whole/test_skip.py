"""A skip in its two runs: what is done before, within and after it; what is refused; what the command writes.

What the story says of them is looked up in `tests/stories`.
"""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from sim.cli import main
from sim.outcome.frames import days_frame
from sim.scenario.read import load
from sim.study.skip.skip_words import by_month
from sim.study.skip.skipping import moment_s, skipping
from sim.study.skip.story import tell
from sim.twin.run import common_inputs, run

YEARS = 2
SKIPS = {
    "sleeve": (["wipe sleeve"], "month 3", None),
    "both wipes, a season": (["wipe sleeve", "wipe sensor window"], "2021-03-01", "2021-10-01"),
    "cartridges": (["change cartridge"], "month 2", None),
    "one stage": (["change cartridge: sediment"], "60 d", None),
    "precharge": (["restore precharge"], "month 1", None),
    "everything": (["everything"], "month 1", None),
}


@pytest.fixture(scope="module", params=SKIPS, ids=list(SKIPS))
def told(request):
    """Both histories, their days as tables, and the story."""
    tasks, start, end = SKIPS[request.param]
    scenario = load.load(load.DEMO)
    kept = scenario.policies[0]
    from_s = moment_s(start, scenario.start, YEARS, "--from")
    until_s = None if end is None else moment_s(end, scenario.start, YEARS, "--until")
    left = skipping(kept, tasks, from_s, until_s)
    common = common_inputs(scenario, 0, 1, YEARS)
    runs = (run(scenario, left, common), run(scenario, kept, common))
    tables = [days_frame(history).set_index("date") for history in runs]
    return runs, tables, tell(runs[1], runs[0], left, "us"), from_s


def test_before_the_skip_both_runs_are_the_same(told):
    _, tables, _, from_s = told
    before = int(from_s // 86400)
    pd.testing.assert_frame_equal(tables[0].iloc[:before], tables[1].iloc[:before], check_exact=True)


def test_nobody_did_the_task_in_the_span_of_the_skip(told, request):
    (skipped, kept), _, _, from_s = told
    tasks, _, end = SKIPS[request.node.callspec.params["told"]]
    until_s = np.inf if end is None else moment_s(end, skipped.start, YEARS, "--until")
    # What was asked for before the skip is still done; the owner's wait is a matter of days.
    done = [
        [e.subject for e in run.events if e.kind == "task" and from_s + 40 * 86400 < e.time_s < until_s]
        for run in (skipped, kept)
    ]
    for task in tasks:
        prefix = "" if task == "everything" else task
        assert not any(subject.startswith(prefix) for subject in done[0])
        assert any(subject.startswith(prefix) for subject in done[1])


def test_after_a_season_the_work_is_taken_up_again(told, request):
    (skipped, _), _, _, _ = told
    tasks, _, end = SKIPS[request.node.callspec.params["told"]]
    if end is not None:
        until_s = moment_s(end, skipped.start, YEARS, "--until")
        later = {e.subject for e in skipped.events if e.kind == "task" and e.time_s > until_s}
        assert set(tasks) <= later


def test_the_story_has_a_line_for_all_its_months(told):
    (skipped, kept), _, story, _ = told
    assert len(story.months) <= YEARS * 12
    assert by_month(story)
    assert skipped.policy == kept.policy + ", skipped"


@pytest.mark.parametrize(
    ("words", "day"),
    [("month 1", 0), ("month 3", 59), ("2021-03-01", 59), ("90 d", 90), ("0 d", 0), ("month 13", 365)],
)
def test_when_a_skip_begins(words, day):
    assert moment_s(words, date(2021, 1, 1), 2, "--from") == day * 86400.0


def test_month_one_of_a_run_that_begins_within_a_month_is_its_start():
    assert moment_s("month 1", date(2021, 1, 20), 1, "--from") == 0.0
    assert moment_s("month 2", date(2021, 1, 20), 1, "--from") == 12 * 86400.0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--from", "month", "99"], "--from is 'month 99', outside the run"),
        (["--from", "soon"], "--from is 'soon'; wanted \"month 3\""),
        (["--from", "2021-02-30"], "is no date"),
        (["--from", "month", "0"], "wanted month 1"),
        (["--task", "wipe sleve"], "did you mean 'wipe sleeve'?"),
        (["--from", "month", "5", "--until", "month", "3"], "is not after --from"),
        (["--policy", "nothing"], "did you mean"),
    ],
)
def test_a_skip_that_cannot_be_is_refused_in_one_line(words, said, tmp_path, capsys):
    code = main(["skip", "--out", str(tmp_path / "out"), "--years", "2", *words])
    shown = capsys.readouterr().err
    assert code == 2
    assert shown.count("\n") == 1
    assert said in shown
    assert not (tmp_path / "out").exists()


def test_the_command_writes_what_it_tells(tmp_path, capsys):
    words = ["skip", "--task", "wipe sleeve", "--from", "month", "3", "--years", "2", "--replications", "2"]
    assert main([*words, "--workers", "1", "--out", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    page = (tmp_path / "handout.html").read_text(encoding="utf-8")
    scenario = load.load(load.DEMO)
    left = skipping(scenario.policies[0], ["wipe sleeve"], 59 * 86400.0, None)
    common = common_inputs(scenario, 0, 1, 2)
    story = tell(run(scenario, scenario.policies[0], common), run(scenario, left, common), left, "us")
    for line in story.summary:
        assert line in said
        assert line in page
    assert "not a water test" in page
    assert "@media print" in page
