"""The store of answers: the same rows again, nothing half written, nothing damaged, nothing foreign."""

import contextlib
import json
import os
import pickle
import subprocess
import sys
import time
from pathlib import Path

import pandas as pd
import pytest

from dashboard.jobs import answer_store, job_table
from dashboard.jobs.answer_store import AnswerStore
from sim.scenario.read import load
from sim.study.compare.question import CompareAnswer, CompareQuestion
from sim.study.one_run.question import RunAnswer
from sim.study.question import Site
from sim.study.questions import ask
from sim.study.runs.store import csv_bytes

KEY = "0" * 64


@pytest.fixture(scope="module")
def question():
    scenario = load.load(load.DEMO)
    names = tuple(policy.name for policy in scenario.policies[:2])
    return CompareQuestion(site=Site(scenario), policies=names, years=1, replications=2, seed=3)


@pytest.fixture(scope="module")
def result(question):
    return ask(question)


@pytest.fixture
def store(tmp_path):
    return AnswerStore(tmp_path / "answers")


def names(store):
    return sorted(path.name for path in store._folder.iterdir())


def test_a_study_comes_back_to_the_byte(store, result):
    assert store.read(KEY) is None
    assert store.keep(KEY, result, 4.5)
    again, took_s = store.read(KEY)
    assert csv_bytes(again.rows) == csv_bytes(result.rows)
    assert list(again.rows.dtypes) == list(result.rows.dtypes)
    assert (again.finished, again.wanted, again.stopped_because) == (2, 2, "complete")
    assert again.comparison == result.comparison
    assert (again.sentences, again.manifest) == (result.sentences, result.manifest)
    assert took_s == 4.5
    assert names(store) == [KEY]


def test_tables_with_plain_values_come_back(store):
    days = pd.DataFrame({"date": pd.to_datetime(["2021-01-01", "2021-01-02"]), "flow_m3_s": [0.1, None]})
    assert store.keep(KEY, RunAnswer({"days": days}, {"cost": 3.5, "policy": "a"}), 1.0)
    again, _ = store.read(KEY)
    pd.testing.assert_frame_equal(again.tables["days"], days)
    assert again.row == {"cost": 3.5, "policy": "a"}


@pytest.mark.parametrize("other", [b"<html>", None, {"page": b"<html>"}, {"figure": object()}])
def test_what_is_no_table_is_not_kept(store, other):
    assert not store.keep(KEY, other, 1.0)
    assert store.read(KEY) is None


def damaged_table(entry):
    content = bytearray((entry / "rows.parquet").read_bytes())
    content[len(content) // 2] ^= 1
    (entry / "rows.parquet").write_bytes(content)


def edited(entry, **values):
    about = json.loads((entry / "answer.json").read_bytes())
    (entry / "answer.json").write_bytes(json.dumps(about | values).encode())


class Harm:
    def __reduce__(self):
        return os.abort, ()


@pytest.mark.parametrize(
    "harm",
    [
        damaged_table,
        lambda entry: (entry / "rows.parquet").unlink(),
        lambda entry: (entry / "answer.json").unlink(),
        lambda entry: (entry / "answer.json").write_bytes(b"{"),
        lambda entry: (entry / "answer.json").write_bytes(b" " * 2_000_000),
        lambda entry: (entry / "answer.json").write_bytes(pickle.dumps(Harm())),
        lambda entry: (entry / "rows.parquet").write_bytes(pickle.dumps(Harm())),
        lambda entry: edited(entry, key="1" * 64),
        lambda entry: edited(entry, edition="0.0.0-other"),
        lambda entry: edited(entry, kind="other"),
        lambda entry: edited(entry, tables={"../../x": ""}),
    ],
)
def test_what_is_damaged_or_foreign_is_passed_over_and_replaced(store, result, harm):
    store.keep(KEY, result, 1.0)
    harm(store._folder / KEY)
    assert store.read(KEY) is None
    assert store.keep(KEY, result, 1.0)
    assert csv_bytes(store.read(KEY)[0].rows) == csv_bytes(result.rows)
    assert names(store) == [KEY]


def test_a_file_in_the_place_of_an_entry_is_replaced(store, result):
    store._folder.mkdir()
    (store._folder / KEY).write_text("mine")
    assert store.read(KEY) is None
    assert store.keep(KEY, result, 1.0)
    assert store.read(KEY) is not None


def test_another_edition_of_the_program_answers_anew(store, result, monkeypatch):
    store.keep(KEY, result, 1.0)
    monkeypatch.setattr(answer_store, "edition", lambda: "0.0.0-other")
    assert store.read(KEY) is None


def test_the_edition_follows_the_source(monkeypatch, tmp_path):
    for name in ("sim/a.py", "scenarios/rain/b.csv", "dashboard/jobs/worker.py"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text("1")
    monkeypatch.setattr(answer_store, "_ROOT", tmp_path)
    found = {answer_store.edition.__wrapped__()}
    for name in ("sim/a.py", "scenarios/rain/b.csv", "dashboard/jobs/worker.py"):
        (tmp_path / name).write_text("2")
        found.add(answer_store.edition.__wrapped__())
    assert len(found) == 4


KILLED = """
import os, sys
from pathlib import Path
import pandas as pd
from dashboard.jobs import answer_store
from sim.study.one_run.question import RunAnswer
os.rename = lambda *names: os._exit(9)
result = RunAnswer({"a": pd.DataFrame({"a": [1.0]})}, {})
answer_store.AnswerStore(Path(sys.argv[1])).keep(sys.argv[2], result, 1.0)
"""


def test_killed_between_write_and_rename_leaves_no_answer_and_no_rubbish(store, result, monkeypatch):
    code = subprocess.run([sys.executable, "-c", KILLED, str(store._folder), KEY], check=False).returncode
    assert code == 9
    assert [name.startswith(KEY) and name.endswith(".part") for name in names(store)] == [True]
    assert store.read(KEY) is None
    assert store.keep(KEY, result, 1.0)
    assert store.read(KEY)[0].finished == 2
    assert len(names(store)) == 2  # another server might still be writing it
    late = time.time() + 2 * answer_store._STALE_S
    monkeypatch.setattr(answer_store.time, "time", lambda: late)
    assert store.keep(KEY, result, 1.0)
    assert names(store) == [KEY]


def test_the_oldest_unused_goes_first(tmp_path, result):
    store = AnswerStore(tmp_path, most_kept=3)
    for number in range(3):
        store.keep(str(number), result, 1.0)
        os.utime(tmp_path / str(number), (number, number))
    assert store.read("0") is not None  # now the one used last
    store.keep("3", result, 1.0)
    assert names(store) == ["0", "2", "3"]


def test_what_is_kept_is_bounded_in_bytes(tmp_path, result):
    store = AnswerStore(tmp_path)
    store.keep("0", result, 1.0)
    size = sum(file.stat().st_size for file in (tmp_path / "0").iterdir())
    store = AnswerStore(tmp_path, most_bytes=int(2.5 * size))
    for number in range(6):
        store.keep(str(number), result, 1.0)
    assert len(names(store)) == 2


def test_a_folder_that_cannot_be_written_costs_no_answer(tmp_path, result):
    (tmp_path / "file").write_text("")
    assert not AnswerStore(tmp_path / "file").keep(KEY, result, 1.0)
    assert not AnswerStore(tmp_path / "file" / "below").keep(KEY, result, 1.0)


def test_the_store_is_in_the_cache_folder_of_the_user(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert answer_store.default_folder() == tmp_path / "cisterntwin" / "answers"
    monkeypatch.delenv("XDG_CACHE_HOME")
    monkeypatch.setattr(Path, "home", lambda: tmp_path / "home")
    assert answer_store.default_folder() == tmp_path / "home" / ".cache" / "cisterntwin" / "answers"


def test_after_a_restart_the_question_is_answered_from_disk(store, question, result, monkeypatch):
    def attend(job, asked, folder):
        job.result, job.took_s = result, 12.0
        return "done"

    monkeypatch.setattr(job_table, "_attend", attend)
    monkeypatch.setattr(job_table.READY, "worker", contextlib.nullcontext)
    first = job_table.JobTable(store)
    key = first.start(question)
    until = time.monotonic() + 20.0
    while first.get(key).active:
        assert time.monotonic() < until
        time.sleep(0.02)
    monkeypatch.setattr(job_table, "_attend", None)  # a worker that was started would fail
    restarted = job_table.JobTable(store)
    began = time.monotonic()
    assert restarted.start(question) == key
    job = restarted.get(key)
    assert time.monotonic() - began < 1.5
    assert (job.state, job.took_s) == ("done", 12.0)
    assert isinstance(job.result, CompareAnswer)
    assert csv_bytes(job.result.rows) == csv_bytes(result.rows)
