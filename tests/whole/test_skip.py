"""The story of a skip says only what its two histories hold: every sentence is looked up in them."""

import re
from datetime import date, datetime

import numpy as np
import pandas as pd
import pytest

from sim.cli import main
from sim.outcome.frames import days_frame
from sim.outcome.measures import row
from sim.scenario.read import load
from sim.study.skip.skip_words import by_month
from sim.study.skip.skipping import moment_s, skipping
from sim.study.skip.story import tell
from sim.twin.run import common_inputs, run
from tests.plain_words import half_digit

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
    left = skipping(scenario, kept, tasks, from_s, until_s)
    common = common_inputs(scenario, 0, 1, YEARS)
    runs = (run(scenario, left, common), run(scenario, kept, common))
    tables = [days_frame(history).set_index("date") for history in runs]
    return runs, tables, tell(runs[1], runs[0], from_s, "us"), from_s


DAY = r"(\d{1,2} [A-Z][a-z]+ \d{4})"
PSI, GALLON = 6894.757293168361, 3.785411784e-3
SIGNS = {
    rf"{DAY}: the UV monitor read (\d+) % where it would have read (\d+) %\.": ("uv_reading", 100.0, 0.5),
    rf"{DAY}: the gauges showed a drop of ([\d.]+) psi over (\w+) where it would have been ([\d.]+) psi\.": (
        "drop", 1 / PSI, 0.05,
    ),
    rf"{DAY}: the pump started (\d+) times where it would have started (\d+) times\.": (
        "pump_starts", 1.0, 0.5,
    ),
}  # fmt: skip


def _on(words):
    return datetime.strptime(words, "%d %B %Y")


def _check_pair(line, tables):
    """Check a sentence that gives a figure of both runs."""
    for pattern, (column, factor, half) in SIGNS.items():
        if found := re.fullmatch(pattern, line):
            numbers = [float(word) for word in found.groups()[1:] if re.fullmatch(r"[\d.]+", word)]
            name = f"drop_pa_{found.group(3)}" if column == "drop" else column
            for number, table in zip(numbers, tables, strict=True):
                assert abs(table.loc[_on(found.group(1)), name] * factor - number) <= half * 1.000001, line
            return True
    return False


def _check_single(line, tables, history):
    """Check a sentence that gives a figure of the skipped run alone."""
    day = tables[0].loc[_on(re.match(DAY, line).group(1))]
    kept = tables[1].loc[day.name]
    said = line.split(": ", 1)[1]
    number = float(next(iter(re.findall(r"[\d.]+\d|\d", said)), "nan"))
    if said.startswith("the UV alarm came on"):
        assert day["alarm"] and not kept["alarm"]
        assert abs(100 * day["uv_reading"] - number) <= 0.500001
    elif said.startswith("the drop over"):
        stage = said.split()[3]
        limit = next(s.terminal_rise_pa for s in history.scenario.stages if s.name == stage)
        assert day[f"drop_pa_{stage}"] > limit > kept[f"drop_pa_{stage}"]
        assert abs(day[f"drop_pa_{stage}"] / PSI - number) <= 0.0500001
    elif said.startswith(("the taps ran weak", "the taps were dry")):
        seconds = day["low_pressure_s" if "weak" in said else "water_off_s"]
        unit, half = (60.0, 0.5) if " min " in said else (3600.0, 0.05)
        assert abs(seconds / unit - number) <= half * 1.000001
    elif said.endswith("failed."):
        subject = said.removesuffix(" failed.")
        assert any(
            event.kind == "failure" and event.subject == subject
            and int(event.time_s // 86400) == tables[0].index.get_loc(day.name)
            for event in history.events
        )  # fmt: skip
    else:
        assert said.endswith("below the dose target: the first day below it.")
        assert day["below_target_m3"] > history.scenario.goals.below_target_volume_m3
        assert abs(day["below_target_m3"] / GALLON - number) <= 0.500001


def test_every_sentence_of_every_month_stands_in_the_histories(told):
    (skipped, _kept), tables, story, _ = told
    for month in story.months:
        for line in month.lines:
            assert _check_pair(line, tables) or _check_single(line, tables, skipped) is None


def test_how_each_month_stood(told):
    (skipped, _), tables, story, _ = told
    limit = skipped.scenario.goals.below_target_volume_m3
    for month in story.months:
        both = [t[(t.index.year == month.first.year) & (t.index.month == month.first.month)] for t in tables]
        both = [t[t.index >= datetime.combine(month.first, datetime.min.time())] for t in both]
        words = dict.fromkeys(("UV reading", "alarm on", "water off", "below the dose target"))
        for part in filter(None, month.stands.split("; ")):
            key = next(key for key in words if key in part)
            words[key] = [float(number) for number in re.findall(r"\d+\.\d+|\d[\d,]*", part.replace(",", ""))]
        found = {
            "UV reading": ([100 * t["uv_reading"].iloc[-1] for t in both], 0.5),
            "alarm on": ([t["alarm"].sum() for t in both], 0.0),
            "water off": ([t["water_off_s"].sum() / 3600 for t in both], None),
            "below the dose target": ([(t["below_target_m3"] > limit).sum() for t in both], 0.0),
        }
        for key, said in words.items():
            expected, half = found[key]
            if said is None:
                assert key != "below the dose target" or expected[0] == expected[1]
                assert key != "alarm on" or expected[0] <= expected[1]
                continue
            for one, value in zip(said, expected, strict=True):
                wide = half_digit(value) if half is None else half * 1.000001
                assert one == pytest.approx(value, rel=0, abs=wide), month.stands


def test_every_claim_of_the_summary(told):
    (skipped, kept), tables, story, from_s = told
    text = "\n".join(story.summary)
    limit = skipped.scenario.goals.below_target_volume_m3
    after = int(from_s // 86400)
    low = [(t["below_target_m3"] > limit).to_numpy() for t in tables]
    only = np.flatnonzero(low[0] & ~low[1])
    only = only[only >= after]
    if found := re.search(
        rf"first fell below target on {DAY}, (\d+) days? after the skip began; (\d+) days? .* been (\d+)\.",
        text,
    ):
        first = tables[0].index[only[0]]
        assert _on(found.group(1)) == first
        assert int(found.group(2)) == only[0] - after
        assert [int(found.group(3)), int(found.group(4))] == [int(flags[after:].sum()) for flags in low]
    else:
        assert only.size == 0
    if found := re.search(rf"The alarm spoke on {DAY}", text):
        assert tables[0].loc[_on(found.group(1)), "alarm"]
        assert not tables[1].loc[_on(found.group(1)), "alarm"]
    if found := re.search(rf"The alarm spoke on {DAY}, (\d+) days? (before|after)", text):
        gap = (tables[0].index[only[0]] - _on(found.group(1))).days
        assert gap == int(found.group(2)) * (1 if found.group(3) == "before" else -1)
    found = re.search(
        r"it cost ([\d,.]+) USD (more|less) than doing the work: ([\d,.]+) in place of ([\d,.]+)\.", text
    )
    more, side, ours, theirs = found.groups()
    costs = [row(history)["cost"] * YEARS for history in (skipped, kept)]
    assert side == ("more" if costs[0] > costs[1] else "less")
    for said, value in ((more, abs(costs[0] - costs[1])), (ours, costs[0]), (theirs, costs[1])):
        assert float(said.replace(",", "")) == pytest.approx(value, rel=0, abs=half_digit(value))
    if found := re.search(rf"could have seen it on ([\w ]+) from {DAY} on(?:, (\d+) days before)?", text):
        first = min((sign for sign in story.signs if sign.seen_on), key=lambda sign: sign.day)
        assert _on(found.group(2)) == tables[0].index[first.day]
        if found.group(3):
            assert int(found.group(3)) == only[0] - first.day


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
    left = skipping(scenario, scenario.policies[0], ["wipe sleeve"], 59 * 86400.0, None)
    common = common_inputs(scenario, 0, 1, 2)
    story = tell(run(scenario, scenario.policies[0], common), run(scenario, left, common), 59 * 86400.0, "us")
    for line in story.summary:
        assert line in said
        assert line in page
    assert "not a water test" in page
    assert "@media print" in page
