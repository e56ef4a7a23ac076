"""How a house stands: the same whatever the order of entry, asked in one place, said in words."""

import json
from datetime import date, datetime, timedelta
from random import Random

import numpy as np
import pytest

from sim import cli
from sim.commands import today as today_command
from sim.commands.today import plain, told
from sim.diary import paths
from sim.diary.book import Book, Diary
from sim.diary.entries import Act, Reading
from sim.diary.home import diary_in, invented
from sim.errors import InputError
from sim.scenario.read.load import load
from sim.study.caution import CAUTION
from sim.study.question import Site
from sim.study.questions import answer_files, ask, question_files, read_answer, read_question
from sim.study.runs.means import Means
from sim.study.today.question import Away, TodayQuestion
from sim.study.today.visit import as_visit
from sim.study.today.wishes import narrower
from sim.study.visits.service_sheet import minutes, split

PSI = 6894.757293168361
START, TODAY = date(2025, 1, 1), date(2025, 5, 20)
COUNT = 16  # paths: enough for what is asked here


def test_processes_make_the_paths_that_one_makes(site, monkeypatch, tmp_path):
    monkeypatch.setattr(paths, "AHEAD_DAYS", 1)
    water = paths.known_water(site.scenario, START, START, (), None)
    alone = paths.paths(site.scenario, water, START, tmp_path / "one", workers=1, count=2)
    monkeypatch.setattr(paths, "_FEW", 1)  # two are enough for processes
    beside = paths.paths(site.scenario, water, START, tmp_path / "two", workers=2, count=2)
    assert alone.count == beside.count == 2
    assert np.array_equal(alone.sums, beside.sums) and np.array_equal(alone.ends, beside.ends)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("paths")


@pytest.fixture(scope="module")
def site():
    return Site(load("family_house"))


def diary(light=(0.97, 0.9, 0.82, 0.75, 0.68), drops=(1.0, 1.5, 2.0, 3.0, 4.0), changed=()):
    noon = datetime.combine(START, datetime.min.time()) + timedelta(hours=12)
    days = [timedelta(days=d) for d in (5, 35, 65, 95, 125)]
    readings = [Reading(noon + day, "UV", value, 0.01) for day, value in zip(days, light, strict=True)]
    readings += [
        Reading(noon + day, "drop over sediment", value * PSI, 0.5 * PSI)
        for day, value in zip(days, drops, strict=True)
    ]
    acts = [Act(noon, "change cartridge", name) for name in ("sediment", "carbon")]
    acts += [Act(noon, task) for task in ("wipe sleeve", "wipe sensor window", "replace lamp", *changed)]
    return Diary(tuple(sorted(readings)), tuple(sorted(acts)))


def question(site, found, **more):
    return TodayQuestion(site=site, diary=found, today=TODAY, count=COUNT, **more)


@pytest.fixture(scope="module")
def answer(site, folder):
    return ask(question(site, diary()), Means(2, folder))


def text_of(found):
    return json.dumps(plain(found), sort_keys=True)


def test_order_of_entry_and_doubled_rows_give_the_same_bytes(site, folder, tmp_path, answer):
    rows = [
        {"phenomenon_time": one.at.isoformat(), "observed_property": one.observed,
         "result": f"{100 * one.value:.0f}" if one.observed == "UV" else f"{one.value / PSI:.1f}",
         "unit": "%" if one.observed == "UV" else "psi"}
        for one in diary().readings
    ]  # fmt: skip
    found = []
    for number in range(2):
        shuffled = rows * (1 + number)
        Random(number).shuffle(shuffled)
        book = Book(tmp_path / str(number), site.scenario, TODAY)
        for row in shuffled:
            book.add_readings([row], datetime(2025, 6, 1))
        entered = Diary(book.read().readings, diary().acts)
        found.append(text_of(ask(question(site, entered), Means(1, folder))))
    assert found[0] == found[1]


def test_readings_move_the_picture_and_narrow_it(site, folder, answer):
    prior = ask(question(site, Diary((), diary().acts)), Means(1, folder))
    before = {part.name: part for part in prior.parts}
    after = {part.name: part for part in answer.parts}
    width = {name: part.state.high - part.state.low for name, part in after.items()}
    assert width["UV"] < 0.6 * (before["UV"].state.high - before["UV"].state.low)
    assert after["UV"].state.low < 0.68 < after["UV"].state.high + 0.03
    assert all(part.state.low <= part.state.middle <= part.state.high for part in answer.parts)
    low = ask(question(site, diary(light=(0.93, 0.83, 0.74, 0.68, 0.62))), Means(1, folder))
    dim = {part.name: part for part in low.parts}["UV"]
    assert dim.due < after["UV"].due
    assert dim.state.middle < after["UV"].state.middle


def test_what_comes_after_the_day_asked_about_is_left_out(site, folder, answer):
    later = Reading(datetime(2025, 5, 21, 9), "UV", 0.3, 0.01)
    known = diary()
    more = Diary((*known.readings, later), known.acts)
    assert text_of(ask(question(site, more), Means(1, folder))) == text_of(answer)


def test_dates_are_in_order_and_the_visit_takes_what_is_due(answer):
    for part in answer.parts:
        if part.when is not None:
            dates = [d or date.max for d in (part.when.first, part.when.likely, part.when.last)]
            assert dates == sorted(dates) and part.when.by == part.when.first
    due = [part for part in answer.parts if part.due is not None and part.tasks]
    first = min(due, key=lambda part: part.due)
    assert answer.visit is not None and answer.visit.on == max(TODAY, first.due)
    assert set(first.tasks) <= set(answer.visit.tasks)


def test_waiting_costs_no_less_the_longer_it_is(answer):
    for name in ("alarm_h", "below_target_share", "clogged_share", "saved"):
        values = [getattr(one, name) for one in answer.waiting]
        assert values == sorted(values)


def test_an_absence_spares_cartridges_and_is_spoken_of(site, folder, answer):
    away = Away(date(2025, 6, 1), date(2025, 8, 31))
    found = ask(question(site, diary(), away=(away,)), Means(1, folder))
    days = [next(f for f in one.forecasts if f.part == "sediment").members[49] for one in (answer, found)]
    assert days[0] + 20.0 < days[1] <= days[0] + 120.0  # nearly all of three months without a draw
    assert found.away and "Away 1 June 2025 to 31 August 2025" in found.away[0]


def test_a_house_without_a_line_says_so_and_asks_for_readings(site, folder):
    found = ask(question(site, Diary((), ())), Means(1, folder))
    assert "nothing was read or noted yet" in found.sentence and found.visit is None
    assert len(found.wish_words) >= 2
    assert not any(" now " in line for line in found.lines)  # nobody is told to do what may be done already


def test_a_house_of_any_age_may_have_been_seen_to_yesterday_or_half_a_year_ago(site, folder):
    found = ask(question(site, Diary((), ())), Means(1, folder))
    by_name = {part.name: part.state for part in found.parts}
    # Nothing to half a year since the wipe: one house in ten was wiped in the last 18 days.
    assert by_name["sleeve"].low < 0.75 and by_name["sleeve"].high > 0.93
    assert by_name["sediment"].low < 0.15
    assert by_name["lamp"].low < 0.2 < 0.8 < by_name["lamp"].high <= 1.0


def test_a_change_that_nobody_noted_is_named(site, folder):
    found = ask(question(site, diary(light=(0.97, 0.84, 0.72, 0.92, 0.79))), Means(1, folder))
    assert any("UV: it reads as if it was seen to between 7 March" in line for line in found.unfit)


def test_kpa_typed_as_psi_is_named(site, folder):
    found = ask(question(site, diary(drops=(2.0, 2.5, 21.0, 3.0, 3.5))), Means(1, folder))
    assert any("another unit" in line for line in found.unfit)


def test_questions_and_answers_are_files_and_back(site, tmp_path, answer):
    for name, files in (("q", question_files(question(site, diary()), {})), ("a", answer_files(answer, {}))):
        (tmp_path / name).mkdir()
        for file, content in files.items():
            (tmp_path / name / file).write_bytes(content)
    assert read_question(tmp_path / "q").diary == diary()
    assert text_of(read_answer(tmp_path / "a")) == text_of(answer)


def test_forecasts_are_made_of_each_part_and_none_is_made_twice(answer):
    assert {one.part for one in answer.forecasts} == {"sediment", "carbon", "UV"}
    for one in answer.forecasts:
        assert list(one.members) == sorted(one.members) and len(one.members) == 99
        assert one.advised_days == pytest.approx(np.quantile(one.members, 0.1), abs=5.0)


def test_a_reading_that_tells_all_narrows_all_and_noise_nothing():
    rng = np.random.default_rng(3)
    told_of = rng.gamma(3.0, 30.0, 4000)
    assert narrower(told_of, told_of) > 0.9
    assert narrower(rng.standard_normal(4000), told_of) < 0.08


@pytest.mark.parametrize(
    ("away", "words"),
    [("2025-06-01", "wanted two dates"), ("2025-06-01 to 2025-05-25", "before it begins")],
)
def test_what_cannot_be_asked_is_refused(capsys, away, words):
    assert cli.main(["today", "family_house", "--on", "2025-05-11", "--away", away]) == 2
    assert words in capsys.readouterr().err


def test_too_many_paths_are_refused(site):
    with pytest.raises(InputError, match="count"):
        ask(question(site, Diary((), ())).__class__(site=site, diary=Diary((), ()), today=TODAY, count=1))


def test_the_built_in_diary_is_invented_and_says_so(site):
    folder = invented("family_house")
    assert folder is not None
    for name in ("readings.csv", "acts.csv"):
        lines = (folder / name).read_text().splitlines()[1:]
        assert lines and all(",invented," in line for line in lines)
    assert len(diary_in(folder, site.scenario, date(2026, 1, 1)).readings) > 20


def test_the_caution_stands_first(answer, monkeypatch, capsys):
    monkeypatch.setattr(today_command, "ask", lambda question, means: answer)
    assert cli.main(["today", "family_house"]) == 0
    assert capsys.readouterr().out.startswith(CAUTION)
    assert cli.main(["today", "family_house", "--json"]) == 0
    assert list(json.loads(capsys.readouterr().out))[:2] == ["kind", "caution"]


def test_the_next_visit_takes_what_its_sheets_say(site):
    """Shutting, relieving and giving water back are done once for all that is opened."""
    drop = Reading(datetime(2025, 5, 19, 9), "drop over sediment", 12.0 * PSI, 0.5 * PSI)
    light = Reading(datetime(2025, 5, 19, 9), "UV", 0.5, 0.01)
    found = ask(question(site, Diary((light, drop), ())), Means(2)).visit
    assert found is not None and {"change cartridge: sediment", "wipe sleeve"} <= set(found.tasks)
    sheets = split(site.scenario, as_visit(site.scenario, found))
    assert found.minutes == pytest.approx(sum(minutes(site.scenario, sheet) for sheet in sheets))
    alone = sum(site.scenario.task(label.partition(":")[0]).minutes for label in found.tasks)
    assert found.minutes < 0.8 * alone


def test_the_screen_says_all_of_it(answer):
    lines = told(answer, made_up=True)
    assert lines[0] == "The diary of this built-in site is invented."
    assert any(line.strip().startswith("Next visit") for line in lines)
    assert lines[-1].startswith("Forecasts that came due: 0, too few to say")
    assert not any("nan" in line or "-0" in line.split() for line in lines)
