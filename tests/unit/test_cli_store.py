"""Files of a study: whole or not there, the same bytes for the same rows."""

import json
import os

import pandas as pd
import pytest

from sim import disk
from sim.errors import InputError
from sim.study.runs import store


def test_tables_read_back_to_the_same_numbers(tmp_path):
    table = pd.DataFrame({"policy": ["a", "b"], "cost": [0.1 + 0.2, 1e-300], "visits": [3, 4]})
    csv, parquet = disk.write_all(tmp_path, store.table_files("rows", table))
    pd.testing.assert_frame_equal(pd.read_csv(csv), table, check_dtype=False, check_exact=True)
    pd.testing.assert_frame_equal(pd.read_parquet(parquet), table, check_dtype=False, check_exact=True)


def test_nothing_is_written_when_one_file_fails(tmp_path, monkeypatch):
    (tmp_path / "rows.csv").write_text("earlier")

    def full(self, data):
        if "summary" in self.name:
            raise OSError(28, "No space left on device")
        return original(self, data)

    original = type(tmp_path).write_bytes
    monkeypatch.setattr(type(tmp_path), "write_bytes", full)
    with pytest.raises(InputError, match="No space left on device"):
        disk.write_all(tmp_path, {"rows.csv": b"new", "summary.csv": b"new"})
    assert (tmp_path / "rows.csv").read_text() == "earlier"
    assert os.listdir(tmp_path) == ["rows.csv"]


def test_manifest_has_no_path_and_no_clock(tmp_path):
    values = store.manifest("House", "d" * 64, ["a"], 1, 5, 3, 4, "interrupted", "a")
    text = store.json_bytes(values).decode()
    assert json.loads(text)["replications_finished"] == 3
    assert values["version"] == "0.1.0"
    assert "/" not in text
    assert ":" not in text.replace('":', "")  # only keys carry one: no time of day
