"""Every question and its answer cross to another process as plain data and come back as they were."""

import dataclasses
import datetime
import json
import pickle
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import numpy as np
import pytest

from sim.diary.book import Diary
from sim.diary.entries import Act, Reading
from sim.errors import InputError, Interrupted
from sim.scenario.read import load
from sim.scenario.read.scenario_tables import scenario_of, tables_of
from sim.scenario.read.series import RainRecord
from sim.scenario.values.numbers import numbers
from sim.study import questions
from sim.study.check.question import CheckQuestion
from sim.study.check_first.question import CheckFirstQuestion
from sim.study.close_up.question import CloseUpQuestion
from sim.study.compare.question import CompareQuestion
from sim.study.one_run.question import RunQuestion
from sim.study.plain import from_plain, to_plain
from sim.study.question import Site
from sim.study.questions import KINDS, answer_files, ask, content_of, question_files
from sim.study.runs import batch, pace
from sim.study.runs.batch import Job
from sim.study.runs.means import Means
from sim.study.runs.sent import packed, unpacked
from sim.study.sheet.question import SheetQuestion
from sim.study.size.question import SizeQuestion
from sim.study.skip.question import SkipQuestion
from sim.study.skip.skipping import with_skips
from sim.study.today.question import TodayQuestion
from sim.study.tune.question import TuneQuestion
from sim.study.uncertain.question import UncertainQuestion
from sim.study.visits.question import VisitsQuestion

ROOT = Path(__file__).parents[2]
DAYS = np.arange(np.datetime64("2021-01-01"), np.datetime64("2023-01-01"))


@pytest.fixture(scope="module")
def site(tiny):
    depth = np.where(np.arange(DAYS.size) % 3 == 0, 0.0072, 0.0)
    return Site(tiny(), RainRecord(DAYS, depth, "d" * 64))


READ = Diary(
    (Reading(datetime.datetime(2025, 2, 1, 9), "UV", 0.71, 0.01),),
    (Act(datetime.datetime(2025, 1, 1, 12), "change cartridge", "sediment", "owner"),),
)


def every_question(site, metered):
    names = ("by the calendar", "nothing done")
    draws = metered([(86400.0 * day + 3600.0, 2e-4, np.inf, 0.2) for day in range(365)])
    common = {"site": site, "years": 1, "seed": 3}
    search = {"worth": 50.0, "replications": 2}
    return [
        CompareQuestion(**common, policies=names, replications=2, reference=names[1], within=1e-6),
        UncertainQuestion(**common, policies=names, draws=2, each=2, known=("house.leak",)),
        RunQuestion(**common | {"site": Site(site.scenario, None, draws)}, policy=names[0], replication=1),
        CloseUpQuestion(**common, policy=names[0], first_day=28),
        SkipQuestion(**common, policy=names[0], tasks=("wipe sleeve",), from_s=86400.0, replications=2),
        SizeQuestion(**common, **search, policies=names[:1], tries=("uv.rated_flow=6 gpm,8 gpm",)),
        TuneQuestion(**common, **search, policy=names[0], only=("replace lamp",)),
        VisitsQuestion(
            site=site, policy=names[0], start=datetime.date(2027, 1, 1), together_days=7,
            done={"wipe sleeve": datetime.date(2026, 11, 20)},
        ),
        CheckQuestion(site=site, units="si"),
        SheetQuestion(**common, replications=2, start=datetime.date(2027, 1, 1)),
        TodayQuestion(site=site, diary=READ, today=datetime.date(2025, 3, 1), count=2),
        CheckFirstQuestion(site=site, diary=READ, today=datetime.date(2025, 3, 1), sign="weak taps", count=2),
    ]  # fmt: skip


@pytest.fixture(scope="module")
def asked(site, metered):
    return {question.kind: question for question in every_question(site, metered)}


def written(folder, files):
    folder.mkdir(exist_ok=True)
    for name, content in files.items():
        (folder / name).write_bytes(content)
    return folder


def test_every_room_with_a_question_is_known():
    rooms = {path.parent.name for path in (ROOT / "sim" / "study").glob("*/question.py")}
    assert rooms == {module.split(".")[2] for module, _ in KINDS.values()} | {"search"}
    for kind, (module, name) in KINDS.items():
        assert getattr(import_module(module), name).kind == kind == questions.answer_type(kind).kind


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_a_question_and_its_answer_come_back_as_they_were(asked, kind, tmp_path):
    question = asked[kind]
    there = written(tmp_path / "asked", question_files(question, {}))
    again = questions.read_question(there)
    assert type(again) is type(question)
    assert content_of(again) == content_of(question)
    assert again.site.scenario == question.site.scenario
    assert list(numbers(again.site.scenario)) == list(numbers(question.site.scenario))
    answer = ask(again)
    files = answer_files(answer, {})
    back = questions.read_answer(written(tmp_path / "answered", files))
    assert type(back) is type(answer)
    assert answer_files(back, {}) == files  # to the byte, tables too
    assert answer_files(ask(question), {}) == files  # and it says what the question says that never crossed


def test_nothing_that_crosses_runs_when_it_is_read(asked):
    for question in asked.values():
        for name, content in question_files(question, {}).items():
            assert name.endswith((".json", ".parquet"))
            if name.endswith(".json"):
                json.loads(content)
            else:
                assert content[:4] == content[-4:] == b"PAR1"


@pytest.mark.parametrize(
    "harm",
    [
        lambda about: about | {"kind": "os.system"},
        lambda about: about | {"values": about["values"] | {"more": 1}},
        lambda about: about | {"values": about["values"] | {"policies": 3}},
        lambda about: about | {"tables": {"../x": ""}},
        lambda about: about | {"tables": dict.fromkeys(about["tables"], "0" * 64)},
    ],
)
def test_what_is_no_question_is_not_read(asked, tmp_path, harm):
    folder = written(tmp_path, question_files(asked["compare"], {}))
    about = json.loads((folder / "question.json").read_bytes())
    (folder / "question.json").write_text(json.dumps(harm(about)))
    with pytest.raises((KeyError, TypeError, ValueError)):
        questions.read_question(folder)


def test_what_is_no_plain_data_is_not_written():
    with pytest.raises(TypeError, match="object is no plain data"):
        to_plain({"figure": object()}, {})


@pytest.mark.parametrize(
    ("kind", "value"),
    [
        (tuple[int, ...], (1, 2, 3)),
        (tuple[float, str], (1.5, "a")),
        (dict[tuple[int, int], float], {(0, 1): 2.5}),
        (dict[str, tuple[str, ...]], {"a": ("b",), "c": ()}),
        (datetime.date | None, datetime.date(2021, 2, 28)),
        (datetime.date | None, None),
        (float | str, "word"),
    ],
)
def test_plain_data_keep_their_types(kind, value):
    parts = {}
    assert from_plain(kind, json.loads(json.dumps(to_plain(value, parts))), parts) == value


def test_a_question_is_named_by_all_it_asks(asked):
    one = asked["compare"]
    others = [dataclasses.replace(one, **change) for change in (
        {"years": 2}, {"seed": 4}, {"policies": one.policies[::-1]}, {"replications": 3},
        {"reference": ""}, {"within": None}, {"site": Site(one.site.scenario)},
    )]  # fmt: skip
    assert len({content_of(each) for each in [one, *others]}) == 8
    assert content_of(dataclasses.replace(one)) == content_of(one)


def test_what_cannot_be_answered_is_refused_by_whoever_asks(asked):
    for question, said in [
        (
            dataclasses.replace(asked["compare"], policies=("by the calender",)),
            "did you mean 'by the calendar'",
        ),
        (dataclasses.replace(asked["run"], replication=-1), "replication is -1; wanted 0 or more"),
        (dataclasses.replace(asked["close-up"], first_day=400), "day is 400; wanted 0 to 364"),
        (dataclasses.replace(asked["skip"], until_s=1.0), "is not after --from"),
        (dataclasses.replace(asked["size"], worth=0.0), "worth is 0; wanted an amount of money above 0"),
        (dataclasses.replace(asked["tune"], only=("wipe",)), "no interval or threshold is called 'wipe'"),
        (dataclasses.replace(asked["uncertain"], draws=1), "uncertain is 1; wanted 2 or more"),
    ]:
        with pytest.raises(InputError) as error:
            ask(question)
        assert said in str(error.value)
    with pytest.raises(InputError, match="workers is 0"):
        Means(0)


def test_rougher_answers_come_first_and_say_so(asked, monkeypatch):
    for limit in ("WANTED_S", "LEAST_S"):
        monkeypatch.setattr(pace, limit, 0.0)  # a replication a batch
    question, partial, told = dataclasses.replace(asked["compare"], replications=9, within=None), [], []
    answer = ask(question, Means(tell=lambda *how_far: told.append(how_far), on_partial=partial.append))
    assert [one.finished for one in partial] == [2, 4, 8]
    assert {one.stopped_because for one in partial} == {"under way"}
    for one in partial:
        assert one.comparison.runs == one.finished
        kept = answer.rows[answer.rows["replication"] < one.finished].reset_index(drop=True)
        assert one.rows.equals(kept)
        assert any(f"from {one.finished} of 9 runs" in sentence for sentence in one.sentences)
    assert (answer.finished, answer.stopped_because) == (9, "complete")
    assert (told[0], told[-1]) == ((0, 9, ""), (9, 9, ""))


def test_stopped_before_there_was_anything_to_say(asked, monkeypatch):
    def stop(self, unit):
        raise KeyboardInterrupt

    monkeypatch.setattr(batch.Job, "unit", stop)
    with pytest.raises(Interrupted, match="before any run was finished"):
        ask(asked["compare"])


# --- what workers are sent ---
def test_a_job_comes_back_as_it_was(site, metered):
    demo, cottage = load.load(load.DEMO), load.load("cottage")
    other = scenario_of(tables_of(demo) | {"name": "other"}, "other")
    long_name = demo.policies[0].model_copy(update={"name": "n" * 120})  # longer than a file may have
    skips = with_skips(demo.policies[0], site.scenario.policies[0].skips)
    designs = ((demo, (*demo.policies, long_name, skips), 1), (cottage, cottage.policies, 2), (other, (), 3))
    draws = metered([(0.0, 2e-4, 60.0, np.inf), (5.0, 1e-4, np.inf, 0.1)])
    job = Job(designs, 4, site.rain, draws)
    again = unpacked(packed(job))
    assert (again.years, tuple(again.designs)) == (4, designs)
    assert [list(numbers(one)) for one, *_ in again.designs] == [list(numbers(one)) for one, *_ in designs]
    assert again.rain.digest == site.rain.digest
    assert (again.rain.dates == DAYS).all() and again.rain.dates.dtype == DAYS.dtype
    assert (again.rain.depth_m == site.rain.depth_m).all()
    assert again.draws.keys() == draws.keys()
    for name, values in draws.items():
        assert np.array_equal(again.draws[name], values)
        assert type(again.draws[name]) is type(values)
    bare = unpacked(packed(Job(designs[:1], 1, None, None)))
    assert (bare.rain, bare.draws) == (None, None)


def test_what_designs_share_is_sent_once():
    demo = load.load(load.DEMO)
    others = [scenario_of(tables_of(demo) | {"name": f"house {number}"}, "other") for number in range(50)]
    one = len(packed(Job(((demo, demo.policies, 1),), 1, None, None)))
    many = len(packed(Job(tuple((other, other.policies, 1) for other in others), 1, None, None)))
    assert many < 2 * one


def test_what_is_sent_does_not_run_when_it_is_read(site, tmp_path):
    content = packed(Job(((site.scenario, site.scenario.policies, 1),), 1, None, None))
    with np.load(written(tmp_path, {"job.npz": content}) / "job.npz", allow_pickle=False) as parts:
        assert {array.dtype.kind for array in (parts[name] for name in parts.files)} == {"u"}
    with pytest.raises(ValueError, match="allow_pickle="):
        unpacked(pickle.dumps({"harm": 1}))


def test_a_worker_loads_no_tables_and_no_figures():
    program = (
        "import sys, sim.study.runs.worker\n"
        "heavy = {'pandas', 'pyarrow', 'plotly', 'streamlit'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
