"""The folder of a study: whole batches or none, one process at a time, one line when the disk is full."""

import os
import subprocess
import sys

import numpy as np
import pytest

from sim import disk
from sim.errors import InputError
from sim.study.runs import folder

COLUMNS = {"policy": ["a", "b"], "replication": np.array([0, 0]), "cost": np.array([0.1 + 0.2, np.nan])}
KEYS = ["x-0", "y-0"]


def whole(_key):
    return True


@pytest.fixture
def kept(tmp_path):
    found = folder.StudyFolder(tmp_path / "study", {"seed": 1})
    found.write(KEYS, COLUMNS)
    return found


def test_a_batch_reads_back_to_the_same_bits(kept):
    ((keys, columns),) = folder.read_batches(kept.path, whole)
    assert keys == KEYS
    assert columns["policy"] == COLUMNS["policy"]
    for name in ("replication", "cost"):
        assert columns[name].dtype == COLUMNS[name].dtype
        assert columns[name].tobytes() == COLUMNS[name].tobytes()


def test_only_runs_that_are_wanted_are_read(kept):
    ((keys, columns),) = folder.read_batches(kept.path, lambda key: key == "y-0")
    assert keys == ["y-0"]
    assert columns["policy"] == ["b"]


@pytest.mark.parametrize("harm", ["empty", "short", "flipped"])
def test_a_damaged_batch_counts_as_not_there(kept, harm):
    (file,) = kept.batches.glob("*.parquet")
    content = bytearray(file.read_bytes())
    if harm == "flipped":
        content[40] ^= 0x55
    file.write_bytes({"empty": b"", "short": content[:-9], "flipped": content}[harm])
    assert list(folder.read_batches(kept.path, whole)) == []
    kept.write(KEYS, COLUMNS)
    assert len(list(folder.read_batches(kept.path, whole))) == 1


def test_what_was_half_written_is_cleared_and_not_read(kept):
    half = kept.batches / ".abc.1.part"
    half.write_bytes(b"PAR1")
    assert len(list(folder.read_batches(kept.path, whole))) == 1
    folder.StudyFolder(kept.path, {"seed": 1})
    assert not half.exists()


def test_forgetting_leaves_other_questions(kept):
    assert kept.forget(lambda key: key == "x-0") == 1
    assert kept.forget(whole) == 0
    assert not kept.path.exists()


def test_a_full_disk_is_one_line_and_leaves_no_scrap(kept, monkeypatch):
    def full(self, data):
        with open(self, "wb") as file:
            file.write(data[:10])
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(type(kept.path), "write_bytes", full)
    with pytest.raises(
        InputError, match=r"cannot be written to: No space left on device; .*goes on"
    ) as raised:
        kept.write(["z-0", "z-1"], COLUMNS)
    assert "\n" not in str(raised.value)
    assert len(os.listdir(kept.batches)) == 1


HOLD = """
import sys
from pathlib import Path
from sim.study.runs.folder import held
with held(Path(sys.argv[1])):
    print("held", flush=True)
    sys.stdin.read()
"""


def test_another_process_is_refused_until_the_first_is_gone_however_it_went(tmp_path):
    other = subprocess.Popen(
        [sys.executable, "-c", HOLD, str(tmp_path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    )
    with other:
        assert other.stdout.readline() == b"held\n"
        with pytest.raises(InputError, match="another run is at work in"), folder.held(tmp_path):
            pass
        other.kill()
        other.wait()
    with folder.held(tmp_path), folder.held(tmp_path):  # one process may hold it twice
        assert os.listdir(tmp_path) == []


def test_a_hold_ends_with_the_outermost_context(tmp_path):
    with folder.held(tmp_path):
        with folder.held(tmp_path):
            pass
        refused = subprocess.run(
            [sys.executable, "-c", HOLD, str(tmp_path)], input=b"", capture_output=True, check=False
        )
        assert b"another run is at work in" in refused.stderr


def test_sweeping_takes_only_scraps(tmp_path):
    for name in (".rows.csv.12.part", "rows.csv", ".hidden"):
        (tmp_path / name).write_text("x")
    disk.sweep(tmp_path)
    assert sorted(os.listdir(tmp_path)) == [".hidden", "rows.csv"]
