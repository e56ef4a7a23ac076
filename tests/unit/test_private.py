"""Nothing that others could have put there is run or believed: folders of one's own, no pickle in a file."""

import ast
import os
import stat
import subprocess
import sys
from datetime import date, datetime
from pathlib import Path

import pandas as pd
import pytest

from dashboard.jobs.answer_store import AnswerStore
from sim import disk
from sim.diary.book import Book
from sim.errors import InputError
from sim.scenario.read.load import load
from sim.study.one_run.question import RunAnswer
from sim.study.runs.store import csv_bytes

ROOT = Path(__file__).parents[2]
POSIX = pytest.mark.skipif(os.name != "posix", reason="owners and modes of this system")
KEY = "0" * 64


def opened(folder):
    folder.mkdir()
    folder.chmod(0o777)


def for_the_group(folder):
    folder.mkdir()
    folder.chmod(0o770)


def of_another(folder):
    folder.mkdir()
    if os.geteuid() != 0:
        pytest.skip("only root can give a folder away")
    os.chown(folder, 12345, 12345)


def link_to_open(folder):
    opened(folder.with_name("elsewhere"))
    folder.symlink_to(folder.with_name("elsewhere"))


def a_file(folder):
    folder.touch()


BAD = [opened, for_the_group, of_another, link_to_open, a_file]


@POSIX
@pytest.mark.parametrize("spoil", BAD)
def test_a_folder_others_could_write_to_is_refused(tmp_path, spoil):
    spoil(tmp_path / "mine")
    with pytest.raises(InputError, match=r"belongs to another|can be written to by others|cannot be made"):
        disk.private(tmp_path / "mine")


@POSIX
@pytest.mark.parametrize("before", [None, 0o755, 0o700])
def test_a_folder_of_ones_own_is_closed_to_others(tmp_path, before):
    if before is not None:
        (tmp_path / "mine").mkdir()
        (tmp_path / "mine").chmod(before)
    assert stat.S_IMODE(disk.private(tmp_path / "mine").stat().st_mode) == 0o700


@POSIX
@pytest.mark.parametrize("spoil", BAD)
@pytest.mark.parametrize("command", ["check", "dashboard"])
def test_no_command_runs_compiled_code_or_shows_answers_from_such_a_folder(tmp_path, spoil, command):
    spoil(tmp_path / "cisterntwin")
    environment = os.environ | {"PYTHONPATH": str(ROOT), "XDG_CACHE_HOME": str(tmp_path)}
    environment.pop("NUMBA_CACHE_DIR", None)
    done = subprocess.run(
        [sys.executable, "-m", "sim.cli", command],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 2, done.stderr
    assert done.stderr.count("\n") == 1
    assert str(tmp_path / "cisterntwin") in done.stderr


@POSIX
def test_a_folder_of_compiled_code_that_was_named_is_looked_at_too(tmp_path):
    opened(tmp_path / "named")
    environment = os.environ | {"PYTHONPATH": str(ROOT), "NUMBA_CACHE_DIR": str(tmp_path / "named")}
    words = [sys.executable, "-m", "sim.cli", "check"]
    done = subprocess.run(words, env=environment, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr.count("\n")) == (2, 1)
    assert "can be written to by others" in done.stderr


@POSIX
@pytest.mark.parametrize("spoil", [opened, of_another])
def test_answers_are_neither_read_nor_kept_in_such_a_folder(tmp_path, spoil):
    answer = RunAnswer({"days": pd.DataFrame({"a": [1.0]})}, {"cost": 3.5})
    good = AnswerStore(tmp_path / "good")
    assert good.keep(KEY, answer, 1.0)
    assert good.read(KEY) is not None
    spoil(tmp_path / "bad")
    (tmp_path / "good" / KEY).rename(tmp_path / "bad" / KEY)
    bad = AnswerStore(tmp_path / "bad")
    assert bad.read(KEY) is None
    assert not bad.keep("1" * 64, answer, 1.0)


def test_no_module_reads_what_could_run_when_it_is_read():
    found, seen = [], 0
    for path in [*(ROOT / "sim").rglob("*.py"), *(ROOT / "dashboard").rglob("*.py")]:
        for node in ast.walk(ast.parse(path.read_text())):
            names = [one.name for one in getattr(node, "names", []) if isinstance(one, ast.alias)]
            names += [getattr(node, "module", None) or "", getattr(node, "attr", "")]
            seen += 1
            if {"pickle", "marshal", "shelve", "dill", "cloudpickle", "joblib", "read_pickle"} & set(names):
                found.append(path)
            if isinstance(node, ast.keyword) and node.arg == "allow_pickle":
                found += [] if getattr(node.value, "value", None) is False else [path]
    assert seen > 10_000
    assert found == []


# OWASP, "CSV Injection": cells that begin with = + - @, a tab or a carriage return may be taken for formulas.
CELLS = [
    ("=1+1", "'=1+1"), ("+cmd", "'+cmd"), ("-cmd", "'-cmd"), ("@SUM(A1)", "'@SUM(A1)"), ("\t=1", "'\t=1"),
    ("\x1b=1", "'\x1b=1"), ("-1.5", "-1.5"), ("+2", "+2"), ("-1+1", "'-1+1"), ("a=1", "a=1"),
]  # fmt: skip


@pytest.mark.parametrize(("cell", "written"), CELLS)
def test_no_cell_is_a_formula(cell, written):
    table = pd.DataFrame({"policy": [cell], "cost": [-3.5], cell or "x": [True]})
    head, line = csv_bytes(table).decode().split("\n")[:2]
    assert line == f"{written},-3.5,True"
    assert head == f"policy,cost,{written or 'x'}"


def test_a_note_in_the_diary_is_no_formula_and_is_read_again(tmp_path):
    book = Book(tmp_path, load("cottage"), date(2027, 1, 9))
    rows = [{"phenomenon_time": "2027-01-01", "observed_property": "UV", "result": "71", "unit": "%",
             "note": "=HYPERLINK(1)"}]  # fmt: skip
    book.add_readings(rows, datetime(2027, 1, 2))
    assert ",'=HYPERLINK(1)," in (tmp_path / "readings.csv").read_text()
    assert [one.value for one in book.read().readings] == [0.71]
